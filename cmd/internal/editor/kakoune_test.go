package editor

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"trammel/spec/amount"
)

// withoutServer stands in for kakoune-lsp, which distributions seldom have.
const withoutServer = `declare-option -hidden str lsp_servers
define-command lsp-enable-window %{ nop }
define-command lsp-inlay-hints-enable -params 1 %{ nop }
`

// TestLongKakoune: a real kakoune takes the file that the manual offers, knows the server
// of a spec file, and colours it.
func TestLongKakoune(t *testing.T) {
	t.Parallel()
	amount.Long(t)
	kak, err := exec.LookPath("kak")
	if err != nil {
		t.Skip("there is no kakoune")
	}
	config, err := filepath.Abs("../../../docs/editors/kakoune.kak")
	if err != nil {
		t.Fatal(err)
	}
	dir := tree(t, "bakery", map[string]string{"kak/kakrc": withoutServer + "source " + config + "\n"})
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	defer stop()
	told := filepath.Join(dir, "told")
	c := exec.CommandContext(ctx, kak, "-ui", "json", "-e", `echo -to-file `+told+` "%opt{filetype} %opt{comment_line} %opt{lsp_servers}"`, filepath.Join(dir, pusher))
	c.Env = append(os.Environ(), "XDG_CONFIG_HOME="+dir, "XDG_RUNTIME_DIR="+dir)
	in, err1 := c.StdinPipe()
	out, err2 := c.StdoutPipe()
	if err1 != nil || err2 != nil || c.Start() != nil {
		t.Fatal(err1, err2)
	}
	fmt.Fprintln(in, `{"jsonrpc":"2.0","method":"resize","params":[24,80]}`)
	colours := map[string]string{}
	for lines := bufio.NewScanner(out); lines.Scan() && colours["axis"] == ""; {
		var m struct{ Params []json.RawMessage }
		var screen [][]struct {
			Contents string
			Face     struct{ Fg string }
		}
		if json.Unmarshal(lines.Bytes(), &m) != nil || len(m.Params) == 0 || json.Unmarshal(m.Params[0], &screen) != nil {
			continue
		}
		for _, line := range screen {
			for _, atom := range line {
				colours[atom.Contents] = atom.Face.Fg
			}
		}
	}
	fmt.Fprintln(in, `{"jsonrpc":"2.0","method":"keys","params":[":quit!<ret>"]}`)
	in.Close()
	_ = c.Wait() // it may have ended with its input
	said, err := os.ReadFile(told)
	if want := "trammel # \n        [trammel]\n        root_globs = [\".git\"]\n        command = \"trammel\"\n        args = [\"editor\"]\n    "; err != nil || string(said) != want {
		t.Errorf("%v %q", err, said)
	}
	for what, colour := range map[string]string{"axis": "blue", "# clean": "cyan", `"pusher"`: "magenta", "orientation": "green"} {
		if colours[what] != colour {
			t.Errorf("%s is %q and not %s: %v", what, colours[what], colour, colours)
		}
	}
}
