// Package browsertest starts a browser for tests that look at pages.
package browsertest

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Start starts a headless browser with a profile of its own that ends with the
// test or after limit, or skips the test where none is installed; in continuous
// integration that is a failure.
func Start(t *testing.T, limit time.Duration) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("opens a browser")
	}
	program := ""
	for _, n := range []string{"chromium", "chromium-browser"} {
		if p, err := exec.LookPath(n); err == nil {
			program = p
			break
		}
	}
	if program == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("chromium is not installed; .ci/run installs it")
		}
		t.Skip("chromium is not installed, so the page is not looked at: apt-get install chromium")
	}
	profile, err := os.MkdirTemp("", "page-browser")
	if err != nil {
		t.Fatal(err)
	}
	// The browser's helpers may write for a moment after it has ended.
	t.Cleanup(func() {
		for range 50 {
			if os.RemoveAll(profile) == nil {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
	opts := append(chromedp.DefaultExecAllocatorOptions[:], // headless, no background networking
		chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(profile))
	ctx, cancel := context.WithTimeout(t.Context(), limit)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("the browser does not start: %v", err)
	}
	return ctx
}
