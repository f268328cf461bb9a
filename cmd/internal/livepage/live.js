"use strict";
(() => {
  let version = 0;

  // place is the first block that is visible and where it stands in the window.
  const blocks = () => document.querySelectorAll("main [id], main h2, main .step, main .finding");
  function place() {
    const all = [...blocks()];
    const at = all.findIndex((b) => b.getBoundingClientRect().bottom > 0);
    return at < 0 ? null : { id: all[at].id, at, top: all[at].getBoundingClientRect().top };
  }
  function back(to) {
    const b = to && ((to.id && document.getElementById(to.id)) || blocks()[to.at]);
    if (b) window.scrollBy(0, b.getBoundingClientRect().top - to.top);
  }

  function show(text) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const main = page.querySelector("main");
    if (!main) throw new Error("no page");
    const was = place();
    document.title = page.title;
    document.querySelector("main").replaceWith(document.adoptNode(main));
    back(was);
  }

  // ended says that what is shown is refreshed no longer. Nobody asks again: whoever may
  // listen at the address by then is not known.
  function ended(why) {
    const bar = document.querySelector(".live");
    if (!bar) return;
    bar.className = "live stale";
    bar.textContent = "NOT CURRENT: " + why + ". Open the sheet from the editor again.";
    document.title = "(not current) " + document.title;
  }

  async function follow() {
    for (;;) {
      const answer = await fetch("next?after=" + version, { cache: "no-store", credentials: "omit", redirect: "error", signal: AbortSignal.timeout(40000) });
      if (answer.status === 204) continue;
      if (answer.status === 404) return ended("other sheets were opened since");
      if (answer.status !== 200) return ended("the editor does not answer");
      version = Number(answer.headers.get("Version"));
      show(await answer.text());
    }
  }
  follow().catch(() => ended("the editor has ended or does not answer"));
})();
