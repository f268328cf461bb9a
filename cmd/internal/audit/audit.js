"use strict";
// The table of all axes. Its rows come as data and are made as they are needed:
// some at first, more as the reader gets there.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const byId = (id) => document.getElementById(id);
  const head = byId("fleet").tHead.rows[0], body = byId("fleet").tBodies[0];
  const machine = byId("machine"), rule = byId("rule"), state = byId("state"), search = byId("search");
  const CHUNK = 100;
  const UNLIMITED = 1e99;
  // Where things stand in a row of the data.
  const MACHINE = 0, AXIS = 1, FILE = 2, LINE = 3, STATE = 4, ERRORS = 5, WARNINGS = 6, NOTES = 7, OPEN = 8,
    WORST = 9, MARGIN = 10, LIFE = 11, USED = 12, REMAINS = 13, ENDS = 14, SCREW = 15, SHEET = 16, STATES = 17, MARGINS = 18;
  const ruleWords = { p: "passed", f: "failed", u: "not judged", i: "does not apply", o: "off" };
  const ruleRank = { f: 0, u: 1, p: 2, o: 3, i: 4 };

  const percent = (x) => x === null ? "–" : x >= UNLIMITED ? "unlimited" : (x * 100).toFixed(Math.abs(x) < 0.1 ? 1 : 0).replace("-", "−") + " %";
  const years = (x) => x === null ? "–" : x >= 100 ? (x >= UNLIMITED ? "unlimited" : "> 100 years") : x <= -100 ? "< −100 years" : x.toFixed(1).replace("-", "−") + " years";
  const count = (n) => n === 0 ? "" : String(n);

  // The rule chosen, by index; −1 for none.
  let chosen = -1;
  const ruleMargin = (r) => {
    const m = r[MARGINS];
    for (let i = 0; i < m.length; i += 2) if (m[i] === chosen) return m[i + 1];
    return null;
  };
  const ruleKey = (r) => {
    const s = r[STATES][chosen];
    const m = ruleMargin(r);
    return m !== null ? m : s === "f" ? -1e6 : s === "p" ? UNLIMITED * 10 : null;
  };

  // A column: how to sort by it and what to show. Text is compared as text. Of
  // axes of one state the worst margin comes first.
  const columns = [
    { key: (r) => data.machines[r[MACHINE]], text: true, show: (td, r) => { td.textContent = data.machines[r[MACHINE]]; } },
    { key: (r) => r[AXIS], text: true, show: (td, r) => {
      if (!r[SHEET]) { td.textContent = r[AXIS]; return; }
      const a = document.createElement("a");
      a.href = r[SHEET];
      a.textContent = r[AXIS];
      td.append(a);
    } },
    { key: (r) => r[STATE] * 1000 + (r[MARGIN] === null ? 100 : Math.min(r[MARGIN], 100)), show: (td, r) => { td.textContent = data.states[r[STATE]]; td.className = ["error", "warning", "note"][r[STATE]] || ""; } },
    { key: (r) => r[ERRORS], number: true, down: true, show: (td, r) => { td.textContent = count(r[ERRORS]); } },
    { key: (r) => r[WARNINGS], number: true, down: true, show: (td, r) => { td.textContent = count(r[WARNINGS]); } },
    { key: (r) => r[NOTES], number: true, down: true, show: (td, r) => { td.textContent = count(r[NOTES]); } },
    { key: (r) => r[OPEN], number: true, down: true, show: (td, r) => { td.textContent = count(r[OPEN]); } },
    { key: (r) => r[WORST] < 0 ? null : data.rules[r[WORST]], text: true, show: (td, r) => { td.textContent = r[WORST] < 0 ? "–" : data.rules[r[WORST]]; } },
    { key: (r) => r[MARGIN], number: true, show: (td, r) => { td.textContent = percent(r[MARGIN]); if (r[MARGIN] !== null && r[MARGIN] < -1e-6) td.classList.add("error"); } },
    { key: ruleKey, number: true, show: (td, r) => {
      const s = r[STATES][chosen] || "i", m = ruleMargin(r);
      td.textContent = m !== null ? percent(m) + (s === "f" ? " failed" : "") : ruleWords[s];
      if (s === "f") td.classList.add("error");
    } },
    { key: (r) => r[LIFE], number: true, show: (td, r) => { td.textContent = years(r[LIFE]); } },
    { key: (r) => r[USED], number: true, down: true, show: (td, r) => { td.textContent = percent(r[USED]); } },
    { key: (r) => r[REMAINS], number: true, show: (td, r) => { td.textContent = years(r[REMAINS]); if (r[REMAINS] !== null && r[REMAINS] <= 0) td.classList.add("error"); } },
    { key: (r) => r[ENDS] || null, text: true, show: (td, r) => { td.textContent = r[ENDS] || "–"; } },
    { key: (r) => r[SCREW] < 0 ? null : data.screws[r[SCREW]], text: true, show: (td, r) => { td.textContent = r[SCREW] < 0 ? "–" : data.screws[r[SCREW]]; } },
    { key: (r) => r[FILE], text: true, show: (td, r) => { td.textContent = r[FILE] + ":" + r[LINE]; td.className = "place"; } },
  ];
  const RULE = 9;

  const collator = new Intl.Collator("en", { numeric: true });
  let sorted = { column: -1, down: false };
  let order = data.rows.map((_, i) => i);
  let shown = [];
  let drawn = 0;

  // sort orders all rows; of equal ones the order of the files stays. What is
  // not known comes last both ways.
  const sort = () => {
    order = data.rows.map((_, i) => i);
    if (sorted.column < 0) return;
    const c = columns[sorted.column], sign = sorted.down ? -1 : 1;
    let keys = data.rows.map(c.key);
    if (c.text) {
      // There are few different texts: each is ranked once.
      const rank = new Map([...new Set(keys)].filter((k) => k !== null).sort(collator.compare).map((k, i) => [k, i]));
      keys = keys.map((k) => k === null ? null : rank.get(k));
    }
    order.sort((a, b) => {
      const x = keys[a], y = keys[b];
      if (x === y) return a - b;
      if (x === null) return 1;
      if (y === null) return -1;
      return x < y ? -sign : x > y ? sign : a - b;
    });
  };

  let texts = null; // what the search looks at, made when it is first used
  const textOf = (i) => {
    if (!texts) {
      texts = data.rows.map((r) => [data.machines[r[MACHINE]], r[AXIS], r[FILE], r[SCREW] < 0 ? "" : data.screws[r[SCREW]], r[WORST] < 0 ? "" : data.rules[r[WORST]]].join("\n").toLowerCase());
    }
    return texts[i];
  };

  const matches = () => {
    const m = machine.value === "" ? -1 : Number(machine.value), s = state.value;
    const words = search.value.toLowerCase().split(/\s+/).filter((w) => w);
    return (i) => {
      const r = data.rows[i];
      if (m >= 0 && r[MACHINE] !== m) return false;
      if (chosen >= 0) {
        const x = r[STATES][chosen] || "i";
        if (s ? x !== s : x === "i") return false; // axes the rule asks nothing of are left out
      } else if (s === "u") {
        if (r[OPEN] === 0) return false;
      } else if (s && r[STATE] !== Number(s)) return false;
      return words.every((w) => textOf(i).includes(w));
    };
  };

  const more = byId("more");
  const draw = (n) => {
    const to = Math.min(shown.length, drawn + n);
    const rows = document.createDocumentFragment();
    for (; drawn < to; drawn++) {
      const r = data.rows[shown[drawn]];
      const tr = document.createElement("tr");
      columns.forEach((c, k) => {
        if (k === RULE && chosen < 0) return;
        const td = document.createElement("td");
        c.show(td, r);
        if (c.number) td.classList.add("n");
        tr.append(td);
      });
      rows.append(tr);
    }
    body.append(rows);
    const left = shown.length - drawn;
    more.hidden = left === 0;
    more.textContent = "Show " + Math.min(left, CHUNK) + " more of " + left;
  };

  const redraw = () => {
    body.replaceChildren();
    drawn = 0;
    draw(CHUNK);
  };

  const update = () => {
    shown = order.filter(matches());
    redraw();
    let errors = 0, warnings = 0, open = 0;
    for (const i of shown) {
      const r = data.rows[i];
      if (r[ERRORS]) errors++; else if (r[WARNINGS]) warnings++;
      if (r[OPEN]) open++;
    }
    byId("count").textContent = shown.length + " of " + data.rows.length + " axes: " + errors + " with errors, " + warnings + " with warnings but no error, " + open + " not fully judged";
    byId("empty").hidden = shown.length > 0;
    byId("table").hidden = shown.length === 0;
  };

  const options = (select, list) => {
    select.replaceChildren(...list.map(([value, text]) => {
      const o = document.createElement("option");
      o.value = value;
      o.textContent = text;
      return o;
    }));
  };
  const stateOptions = () => {
    const before = state.value;
    if (chosen >= 0) {
      options(state, [["", "Any that applies"], ...Object.entries(ruleWords)]);
    } else {
      options(state, [["", "Any"], ...data.states.map((s, i) => [String(i), s]), ["u", "with rules not judged"]]);
    }
    state.value = [...state.options].some((o) => o.value === before) ? before : "";
  };
  const chooseRule = () => {
    chosen = rule.value === "" ? -1 : Number(rule.value);
    head.cells[RULE].hidden = chosen < 0;
    head.cells[RULE].firstChild.textContent = chosen < 0 ? "" : data.rules[chosen];
    stateOptions();
    if (chosen < 0 && sorted.column === RULE) sortBy(-1, false);
    else if (sorted.column === RULE) sort();
  };

  const sortBy = (column, down) => {
    sorted = { column, down };
    [...head.cells].forEach((th, i) => {
      if (i === column) th.setAttribute("aria-sort", down ? "descending" : "ascending");
      else th.removeAttribute("aria-sort");
    });
    sort();
  };

  options(machine, [["", "All machines"], ...data.machines.map((m, i) => [String(i), m]).sort((a, b) => collator.compare(a[1], b[1]))]);
  options(rule, [["", "All rules"], ...data.rules.map((r, i) => [String(i), r])]);
  [...head.cells].forEach((th, i) => th.firstChild.addEventListener("click", () => {
    const first = Boolean(columns[i].down);
    sortBy(i, sorted.column === i ? !sorted.down : first);
    update();
  }));
  machine.addEventListener("change", update);
  state.addEventListener("change", update);
  rule.addEventListener("change", () => { chooseRule(); update(); });
  let timer = 0;
  search.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(update, 80); });
  const reset = () => {
    machine.value = rule.value = state.value = search.value = "";
    chooseRule();
    state.value = "";
    update();
  };
  for (const b of document.querySelectorAll(".reset")) b.addEventListener("click", () => { reset(); search.focus(); });
  more.addEventListener("click", () => draw(CHUNK));
  new IntersectionObserver((list) => { if (list.some((x) => x.isIntersecting) && !more.hidden) draw(CHUNK); }, { rootMargin: "400px" }).observe(more);
  // Paper has no scroll bar: everything chosen is printed.
  addEventListener("beforeprint", () => draw(shown.length));

  // A machine or rule named in the summary leads to its axes.
  document.addEventListener("click", (e) => {
    const a = e.target.closest("a[data-machine], a[data-rule]");
    if (!a) return;
    reset();
    if (a.dataset.machine) machine.value = a.dataset.machine;
    if (a.dataset.rule) { rule.value = a.dataset.rule; chooseRule(); state.value = a.dataset.state || ""; }
    update();
  });

  chooseRule();
  sortBy(2, false);
  update();
})();
