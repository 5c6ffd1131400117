package report

import (
	"strings"
	"testing"
)

// A live page may run its module and its worker, and nothing more than before; without
// --live the page is as it was. What comes from the brief stays text.
func TestLivePage(t *testing.T) {
	in := syntheticInput(t, 300)
	plain := write(t, in)
	brief := in.Brief(0)
	hostile := *brief
	hostile.Text = "title: '</script><script>alert(1)</script>'"
	in.Brief = func(int64) *Brief { return &hostile }
	in.Live = &Live{Module: []byte("module"), Digest: "d1", Version: "9", Layouts: map[string]string{"x": "</script>"}}
	page := write(t, in)
	checkTags(t, page)
	policy := func(page string) string {
		_, rest, _ := strings.Cut(page, `http-equiv="Content-Security-Policy" content="`)
		text, _, _ := strings.Cut(rest, `"`)
		return strings.ReplaceAll(text, "&#39;", "'")
	}
	const strict = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
	if got := policy(plain); got != strict {
		t.Errorf("the policy is %s", got)
	}
	if got := policy(page); got != strict+" 'wasm-unsafe-eval'; worker-src blob:" {
		t.Errorf("the policy of a live page is %s", got)
	}
	if strings.Contains(plain, `id="try"`) || strings.Contains(plain, "WebAssembly.compile") {
		t.Error("a page without the evaluator has parts of it")
	}
	if strings.Contains(page, "<script>alert(1)") || strings.Contains(page, `"x":"</script>`) {
		t.Error("a text of the brief ends a script")
	}
	if !strings.Contains(page, `id="live-module">bW9kdWxl<`) {
		t.Error("the module is not in the page")
	}
}
