package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const (
	cacheInTree = "A cache out of the tree"
	cacheForged = "A cache that somebody else filled"
)

const faultyAxis = "axis \"a%03d\" {\n  screw {\n    grade   = \"C3\"\n    process = \"rolled\"\n  }\n}\n"

// fleet gives the repository as many axes as a run needs to look at the cache.
// All but one fail.
func fleet(f *field) {
	f.Helper()
	for i := range 119 {
		f.write(fmt.Sprintf("repo/fleet/%03d.axis.hcl", i), fmt.Sprintf(faultyAxis, i))
	}
	f.write("repo/fleet/good.axis.hcl", "axis \"good\" {\n}\n")
}

// Layout of a pack, as cmd/internal/cache says it.
const packHead, packSlot, packTail = 16 + 32, 32 + 8 + 4 + 16, 8 + 32

// forged makes a pack in which every file has the result of the good one, with
// the checksums that can be worked out without a key. It gives its name.
func forged(f *field) (name string, pack []byte) {
	f.Helper()
	name, pack = packOf(f, "other")
	at := binary.LittleEndian.Uint64(pack[len(pack)-packTail:])
	index := pack[at : len(pack)-packTail]
	var good []byte
	for s := index; len(s) > 0; s = s[packSlot:] {
		from, size := binary.LittleEndian.Uint64(s[32:]), binary.LittleEndian.Uint32(s[40:])
		if data := pack[from : from+uint64(size)]; bytes.Contains(data, []byte("good.axis.hcl")) {
			good = bytes.Clone(s[32:packSlot])
		}
	}
	if good == nil {
		f.Fatal("the pack does not hold the good file")
	}
	for s := index; len(s) > 0; s = s[packSlot:] {
		copy(s[32:], good)
	}
	sum := sha256.Sum256(append(bytes.Clone(pack[16:packHead]), index...))
	copy(pack[len(pack)-sha256.Size:], sum[:])
	return name, pack
}

// packOf runs the check as another user and gives the pack that it leaves.
func packOf(f *field, user string) (name string, pack []byte) {
	f.Helper()
	fleet(f)
	mine := f.env
	dir := filepath.Join(f.base, user, "cache")
	f.env = append(f.env[:len(f.env):len(f.env)], "TRAMMEL_CACHE="+dir)
	if status, out := f.run(checkFleet...); status != exitFindings {
		f.Fatal(out)
	}
	f.env = mine
	list, err := filepath.Glob(filepath.Join(dir, "*.pack"))
	if err != nil || len(list) != 1 {
		f.Fatal(list, err)
	}
	if pack, err = os.ReadFile(list[0]); err != nil {
		f.Fatal(err)
	}
	return filepath.Base(list[0]), pack
}

var checkFleet = []string{"check", "--no-fixes", bakeryDay, "fleet"}

// cacheAttack is one whose files and environment set makes; the axes fail
// whatever is tried.
func cacheAttack(threat, name, holds, says string, set func(*field)) attack {
	return attack{
		threat: threat, name: name, holds: holds, says: says, status: exitFindings, args: checkFleet, set: set,
		after: func(f *field, out string) {
			if !strings.Contains(out, "(119 errors)") {
				f.Errorf("not all errors are found:\n%.300s", out)
			}
		},
	}
}

// userCache is the folder that the user's cache lies in.
const userCache = "home/cache/trammel"

func (f *field) setenv(name, value string) {
	f.env = append(f.env, name+"="+strings.ReplaceAll(value, "%BASE%", f.base))
}

// plant puts a pack into a folder, as a stranger does who can write there.
func (f *field) plant(dir, name string, pack []byte) {
	f.Helper()
	full := filepath.Join(f.base, filepath.FromSlash(dir))
	if err := os.MkdirAll(full, 0o700); err != nil {
		f.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(full, name), pack, 0o600); err != nil {
		f.Fatal(err)
	}
}

func init() {
	const refused, notUsed = "said on standard error; the cache is not used, everything is judged", "not believed; everything is judged"
	inTree := func(name, variable, value string, more func(*field)) {
		attacks = append(attacks, cacheAttack(cacheInTree, name, refused, "lies inside the tree", func(f *field) {
			file, pack := forged(f)
			f.plant("repo/cache", file, pack)
			f.write("repo/cache.key", strings.Repeat("k", 40)+"\n")
			if err := os.Chmod(filepath.Join(f.repo, "cache.key"), 0o600); err != nil {
				f.Fatal(err)
			}
			if more != nil {
				more(f)
			}
			f.setenv(variable, value)
		}))
	}
	inTree("a filled cache is committed, and the job keeps its cache in the checkout", "TRAMMEL_CACHE", "%BASE%/repo/cache", nil)
	inTree("the same, in the root of the checkout", "TRAMMEL_CACHE", "%BASE%/repo", nil)
	inTree("the same, in a folder that is not there yet", "TRAMMEL_CACHE", "%BASE%/repo/new/deep", nil)
	inTree("the same, named over ..", "TRAMMEL_CACHE", "%BASE%/outside/../repo/cache", nil)
	inTree("the same, behind a link of the user's", "TRAMMEL_CACHE", "%BASE%/home/c", func(f *field) { f.link("home/c", "../repo/cache") })
	inTree("the folder is a committed link to one of the user's", "TRAMMEL_CACHE", "%BASE%/repo/c", func(f *field) { f.link("repo/c", "../outside") })
	inTree("a folder on the way is a committed link to one of the user's", "TRAMMEL_CACHE", "%BASE%/repo/c/d", func(f *field) { f.link("repo/c", "../outside") })
	inTree("the user's folder for caches lies in the checkout", "XDG_CACHE_HOME", "%BASE%/repo", func(f *field) {
		if err := os.Rename(filepath.Join(f.repo, "cache"), filepath.Join(f.repo, "trammel")); err != nil {
			f.Fatal(err)
		}
	})
	inTree("the key is a committed file", "TRAMMEL_CACHE_KEY", "%BASE%/repo/cache.key", nil)
	inTree("the key is a link of the user's to a committed file", "TRAMMEL_CACHE_KEY", "%BASE%/home/k", func(f *field) { f.link("home/k", "../repo/cache.key") })
	inTree("the key is a committed link to a file of the user's", "TRAMMEL_CACHE_KEY", "%BASE%/repo/k", func(f *field) { f.link("repo/k", "../home/.profile") })

	forge := func(name, holds, says string, set func(*field, string, []byte)) {
		attacks = append(attacks, cacheAttack(cacheForged, name, holds, says, func(f *field) {
			file, pack := forged(f)
			set(f, file, pack)
		}))
	}
	forge("a forged pack with right checksums in the user's cache, as one brought over from a fork's job", notUsed, "", func(f *field, file string, pack []byte) { f.plant(userCache, file, pack) })
	forge("the same, with its key beside the folder of packs, as a cache with all of its files brings it", notUsed, "", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		f.plant(userCache, "trammel.key", []byte(strings.Repeat("k", 40)))
	})
	forge("the key is one that others can read", refused, "others may read", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		f.write("home/k", strings.Repeat("k", 40))
		f.setenv("TRAMMEL_CACHE_KEY", "%BASE%/home/k")
	})
	forge("the key is empty", refused, "a key has 32 to 4096", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		f.plant("home", "k", nil)
		f.setenv("TRAMMEL_CACHE_KEY", "%BASE%/home/k")
	})
	forge("the key is a pipe", refused, "no regular file", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		if err := mkfifo(filepath.Join(f.base, "home", "k")); err != nil {
			f.Skip(err)
		}
		f.setenv("TRAMMEL_CACHE_KEY", "%BASE%/home/k")
	})
	forge("the key is named by a path that depends on the folder one is in", refused, "absolute path", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		f.setenv("TRAMMEL_CACHE_KEY", "fleet/k")
	})
	forge("the folder of the cache is named by such a path", refused, "absolute path", func(f *field, file string, pack []byte) {
		f.plant("repo/fleet", file, pack)
		f.setenv("TRAMMEL_CACHE", "fleet")
	})
	forge("the folder of the cache is one that others can write to", refused, "others may write", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack)
		if err := os.Chmod(filepath.Join(f.base, filepath.FromSlash(userCache)), 0o777); err != nil {
			f.Fatal(err)
		}
	})
	forge("the pack is a link to one elsewhere", notUsed, "", func(f *field, file string, pack []byte) {
		f.plant("home/else", file, pack)
		f.link(userCache+"/"+file, "../../else/"+file)
	})
	forge("the pack is a link to a file of the user's, so that the next run writes over it", notUsed, "", func(f *field, file string, _ []byte) {
		f.plant(userCache, "x", nil)
		f.link(userCache+"/"+file, "%BASE%/"+victim)
	})
	forge("the pack is a pipe", notUsed, "", func(f *field, file string, _ []byte) {
		f.plant(userCache, "x", nil)
		if err := mkfifo(filepath.Join(f.base, filepath.FromSlash(userCache), file)); err != nil {
			f.Skip(err)
		}
	})
	forge("the pack is a folder", refused, "nothing is cached", func(f *field, file string, _ []byte) { f.write(userCache+"/"+file+"/x", ""); f.secure() })
	forge("the folder of the cache is a file", refused, "nothing is cached", func(f *field, _ string, _ []byte) { f.write(userCache, "x") })
	forge("the folder of the cache is a link that leads nowhere", refused, "leads nowhere", func(f *field, _ string, _ []byte) { f.link(userCache, "none") })
	forge("the folder of the cache is a link to itself", refused, "nothing is cached", func(f *field, _ string, _ []byte) { f.link(userCache, "trammel") })
	forge("a pack that says it has millions of entries", notUsed, "", func(f *field, file string, pack []byte) {
		f.plant(userCache, file, pack[:len(pack)-packTail])
		full := filepath.Join(f.base, filepath.FromSlash(userCache), file)
		if err := os.Truncate(full, 200<<20); err != nil {
			f.Skip(err)
		}
		h, err := os.OpenFile(full, os.O_WRONLY|os.O_APPEND, 0)
		if err != nil {
			f.Fatal(err)
		}
		defer h.Close()
		tail := binary.LittleEndian.AppendUint64(nil, uint64(packHead+(200<<20-packHead)%packSlot))
		if _, err := h.Write(append(tail, make([]byte, sha256.Size)...)); err != nil {
			f.Fatal(err)
		}
	})
	forge("a pack cut off in its index", notUsed, "", func(f *field, file string, pack []byte) { f.plant(userCache, file, pack[:len(pack)-100]) })
	forge("an old link named like a pack, for the tidying of old packs to follow", notUsed, "", func(f *field, _ string, _ []byte) {
		f.plant(userCache, "x", nil)
		f.link(userCache+"/old.pack", "%BASE%/"+victim)
		old := time.Now().AddDate(-1, 0, 0)
		if err := os.Chtimes(filepath.Join(f.base, filepath.FromSlash(victim)), old, old); err != nil {
			f.Fatal(err)
		}
	})
	attacks = append(attacks, cacheAttack(cacheForged, "a pack that another user's run made and nobody touched", notUsed, "", func(f *field) {
		file, pack := packOf(f, "other")
		f.plant(userCache, file, pack)
	}))
	last := &attacks[len(attacks)-1]
	found := last.after
	last.after = func(f *field, out string) {
		found(f, out)
		list, _ := filepath.Glob(filepath.Join(f.base, filepath.FromSlash(userCache), "*.pack"))
		other, _ := filepath.Glob(filepath.Join(f.base, "other", "cache", "*.pack"))
		if len(list) != 1 || len(other) != 1 {
			f.Fatal(list, other)
		}
		// A pack of which all is used is left as it is.
		mine, _ := os.ReadFile(list[0])
		theirs, _ := os.ReadFile(other[0])
		if bytes.Equal(mine, theirs) {
			f.Error("the other user's pack was used")
		}
	}
}

// secure takes the folder of the cache from others.
func (f *field) secure() {
	f.Helper()
	if err := os.Chmod(filepath.Join(f.base, filepath.FromSlash(userCache)), 0o700); err != nil {
		f.Fatal(err)
	}
}
