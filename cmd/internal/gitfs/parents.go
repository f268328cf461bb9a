package gitfs

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Merging lists the commits that a merge under way brings in, none where there is no
// merge. Git writes them down where a merge stops, and before the hook of a merge
// that does not stop it names them in the environment.
func (r *Repo) Merging() ([]string, error) {
	out, err := r.git("rev-parse", "--git-path", "MERGE_HEAD")
	if err != nil {
		return nil, err
	}
	name := strings.TrimSuffix(string(out), "\n")
	if !filepath.IsAbs(name) {
		name = filepath.Join(r.root, name)
	}
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return named(r.env), nil
	}
	return strings.Fields(string(text)), err
}

// named are the commits that git merge names to its hooks.
func named(env []string) (list []string) {
	merging := false
	for _, v := range env {
		action, ok := strings.CutPrefix(v, "GIT_REFLOG_ACTION=")
		merging = merging || ok && (strings.HasPrefix(action, "merge") || strings.HasPrefix(action, "pull"))
		if id, ok := strings.CutPrefix(v, "GITHEAD_"); ok {
			id, _, _ = strings.Cut(id, "=")
			list = append(list, id)
		}
	}
	if !merging {
		return nil
	}
	return list
}

// Unpushed finds what of a commit a remote does not have, as far as is known here: the
// commit before the first that it lacks. All is set where it has none of them, and none
// where it has all.
func (r *Repo) Unpushed(local, remote string) (before string, all, none bool, err error) {
	id, _, err := r.commit(local)
	if err != nil {
		return "", false, false, err
	}
	out, err := r.git("rev-list", "--topo-order", "--reverse", "--parents", id, "--not", "--remotes="+remote)
	if err != nil {
		return "", false, false, err
	}
	first, _, _ := strings.Cut(string(out), "\n")
	switch ids := strings.Fields(first); len(ids) {
	case 0:
		return "", false, true, nil
	case 1:
		return "", true, false, nil
	default:
		return ids[1], false, false, nil
	}
}

// Commit is the id of the commit that a name leads to.
func (r *Repo) Commit(rev string) (string, error) {
	id, _, err := r.commit(rev)
	return id, err
}
