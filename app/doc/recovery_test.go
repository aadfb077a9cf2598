package doc_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pintle/app/doc"
)

// With this variable set, the test binary is the victim of the kill tests: it
// saves, or keeps recovery copies, as fast as it can until it is killed.
const victimVariable = "PINTLE_TEST_VICTIM"

func TestMain(m *testing.M) {
	if what := os.Getenv(victimVariable); what != "" {
		victim(what, os.Args[1])
		return
	}
	os.Exit(m.Run())
}

func victim(what, path string) {
	var write func(doc.Document) error
	switch what {
	case "save":
		write = func(d doc.Document) error { return doc.Save(path, d) }
	case "recovery":
		r, err := doc.OpenRecovery(path)
		if err != nil {
			panic(err)
		}
		write = func(d doc.Document) error { return r.Write(d, "/home/arm.pintle") }
	}
	for i := 0; ; i++ {
		if err := write(numbered(i)); err != nil {
			panic(err)
		}
		fmt.Println(i) // state i is on the disk now
	}
}

// numbered is a document that carries the number i in two places and is big
// enough for a write to take a while.
func numbered(i int) doc.Document {
	d := twoParts()
	d.Parts[2].Name = "pin " + strconv.Itoa(i)
	d.Joints[0].Picks[0].Vertices = make([]int32, 20_000)
	d.Joints[0].Name = "joint " + strconv.Itoa(i)
	d.Poses = nil
	return d
}

func number(t *testing.T, d doc.Document) int {
	t.Helper()
	part, joint := d.Parts[2].Name, d.Joints[0].Name
	n, err := strconv.Atoi(strings.TrimPrefix(part, "pin "))
	if err != nil || joint != "joint "+strconv.Itoa(n) {
		t.Fatalf("a document of two states: %q and %q", part, joint)
	}
	return n
}

// killed runs a victim, kills it at a random instant and returns the last
// state that it reported to be on the disk.
func killed(t *testing.T, what, path string) (last int) {
	t.Helper()
	cmd := exec.Command(os.Args[0], path)
	cmd.Env = append(os.Environ(), victimVariable+"="+what)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for n := 1 + rand.IntN(4); n > 0 && lines.Scan(); n-- {
		last, err = strconv.Atoi(lines.Text())
		if err != nil {
			t.Fatal(err)
		}
	}
	time.Sleep(time.Duration(rand.IntN(5000)) * time.Microsecond)
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() { // what it still reported before the kill
		last, _ = strconv.Atoi(lines.Text())
	}
	if err := cmd.Wait(); err == nil {
		t.Fatal("the victim ended by itself")
	}
	return last
}

func TestKillDuringSaveHarmsNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "arm.pintle")
	for range 12 {
		last := killed(t, "save", path)
		d, err := doc.Load(path)
		if err != nil {
			t.Fatal(err)
		}
		// The save after the last reported one may have come through as well.
		if n := number(t, d); n < last || n > last+1 {
			t.Fatalf("state %d on disk, state %d was saved", n, last)
		}
	}
}

func TestKillLeavesARecoveryCopy(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "recovery [1]*") // a hard name for globs
	for range 8 {
		last := killed(t, "recovery", dir)
		r, err := doc.OpenRecovery(dir)
		if err != nil {
			t.Fatal(err)
		}
		found, problems := r.Leftovers()
		if len(problems) > 0 || len(found) != 1 {
			t.Fatalf("%d leftovers, problems %v", len(found), problems)
		}
		if n := number(t, found[0].Document); n < last || n > last+1 || found[0].Path != "/home/arm.pintle" {
			t.Fatalf("state %d of %s recovered, state %d was kept", n, found[0].Path, last)
		}
		if err := errors.Join(found[0].Discard(), r.Close()); err != nil {
			t.Fatal(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") { // hidden ones are half-written files, swept a day later
			t.Errorf("%s is left in the folder", e.Name())
		}
	}
}

func TestRecoveryOfALiveRunIsNotOffered(t *testing.T) {
	dir := t.TempDir()
	open := func() *doc.Recovery {
		r, err := doc.OpenRecovery(dir)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	alive, other := open(), open()
	if err := alive.Write(numbered(1), ""); err != nil {
		t.Fatal(err)
	}
	if found, problems := other.Leftovers(); len(found)+len(problems) > 0 {
		t.Errorf("found %d, problems %v", len(found), problems)
	}
	if err := alive.Clear(); err != nil {
		t.Error(err)
	}
	if err := alive.Clear(); err != nil {
		t.Error("clearing twice:", err)
	}
	if err := errors.Join(alive.Close(), other.Close()); err != nil {
		t.Error(err)
	}
}

func TestLeftoversAreClaimedReleasedAndSorted(t *testing.T) {
	dir := t.TempDir()
	for i := range 3 {
		killedCopy(t, dir, i)
	}
	r, err := doc.OpenRecovery(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	found, problems := r.Leftovers()
	if len(found) != 3 || len(problems) != 0 {
		t.Fatal(len(found), problems)
	}
	if !slices.IsSortedFunc(found, func(a, b doc.Leftover) int { return b.When.Compare(a.When) }) {
		t.Error("not the newest first")
	}
	second, err := doc.OpenRecovery(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer second.Close()
	if again, _ := second.Leftovers(); len(again) != 0 {
		t.Error("two windows are offered the same copy")
	}
	if err := errors.Join(found[0].Release(), found[1].Discard(), found[2].Discard()); err != nil {
		t.Fatal(err)
	}
	if again, _ := second.Leftovers(); len(again) != 1 || number(t, again[0].Document) != number(t, found[0].Document) {
		t.Errorf("%d copies after one was released", len(again))
	}
}

// killedCopy puts a copy into dir whose run is over.
func killedCopy(t *testing.T, dir string, i int) {
	t.Helper()
	stem := filepath.Join(dir, strconv.Itoa(i))
	text, err := doc.Encode(numbered(i), "")
	if err != nil {
		t.Fatal(err)
	}
	content := fmt.Sprintf(`{"pintle_recovery": 1, "document": %s}`, text)
	if err := errors.Join(os.WriteFile(stem+".recovery", []byte(content), 0o600), os.WriteFile(stem+".lock", nil, 0o600)); err != nil {
		t.Fatal(err)
	}
	when := time.Unix(1_700_000_000+int64(i), 0)
	if err := os.Chtimes(stem+".recovery", when, when); err != nil {
		t.Fatal(err)
	}
}

func TestABadRecoveryCopyIsToldOfAndKept(t *testing.T) {
	dir := t.TempDir()
	for i, text := range []string{"", "{}", `{"pintle_recovery": 9, "document": {}}`, `{"pintle_recovery": 1, "document": {"pintle": 7}}`} {
		killedCopy(t, dir, i)
		if err := os.WriteFile(filepath.Join(dir, strconv.Itoa(i)+".recovery"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	r, err := doc.OpenRecovery(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for range 2 {
		found, problems := r.Leftovers()
		if len(found) != 0 || len(problems) != 4 {
			t.Fatalf("found %d, problems %v", len(found), problems)
		}
	}
	if _, err := doc.OpenRecovery(filepath.Join(dir, "0.recovery")); err == nil {
		t.Error("a file was taken for the recovery folder")
	}
}

func TestAutosaverKeepsTheNewest(t *testing.T) {
	dir := t.TempDir()
	r, err := doc.OpenRecovery(dir)
	if err != nil {
		t.Fatal(err)
	}
	a := doc.NewAutosaver(r, time.Hour, func(err error) { t.Error(err) })
	copies := func() []string {
		list, err := filepath.Glob(filepath.Join(dir, "*.recovery"))
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	for i := range 100 {
		a.Changed(numbered(i), "")
	}
	if len(copies()) != 0 {
		t.Error("a copy was written before it was due")
	}
	a.Flush()
	list := copies()
	if len(list) != 1 {
		t.Fatal(list)
	}
	if text, err := os.ReadFile(list[0]); err != nil || !strings.Contains(string(text), `"pin 99"`) {
		t.Error("the copy is not of the newest state", err)
	}
	a.Changed(numbered(100), "")
	a.Saved()
	if len(copies()) != 0 {
		t.Error("the copy outlives the save")
	}
	a.Changed(numbered(101), "")
	if err := errors.Join(a.Close(), a.Close()); err != nil {
		t.Error(err)
	}
	a.Changed(numbered(102), "")
	a.Flush()
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 0 {
		t.Errorf("left behind: %v %v", entries, err)
	}
}

func TestAutosaverWritesByItselfAndTellsOfFailure(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "gone")
	r, err := doc.OpenRecovery(dir)
	if err != nil {
		t.Fatal(err)
	}
	failures := make(chan error, 1)
	a := doc.NewAutosaver(r, time.Millisecond, func(err error) { failures <- err })
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	a.Changed(numbered(1), "")
	if err := <-failures; !strings.Contains(err.Error(), "keeping a recovery copy") {
		t.Error(err)
	}
	a.Close()
}

func TestRecent(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "config")
	r := doc.NewRecent(dir)
	if list := r.List(); len(list) != 0 {
		t.Error(list)
	}
	for i := range 20 {
		if err := r.Add(fmt.Sprintf("/d/%d.pintle", i%15)); err != nil {
			t.Fatal(err)
		}
	}
	list := r.List()
	if len(list) != 12 || list[0] != "/d/4.pintle" || list[5] != "/d/14.pintle" {
		t.Error(list)
	}
	if err := r.Remove("/d/4.pintle"); err != nil || slices.Contains(r.List(), "/d/4.pintle") {
		t.Error(err, r.List())
	}
	for _, text := range []string{"", "{", `{"a": 1}`, `["not/absolute"]`, strings.Repeat("[", 2<<20)} {
		if err := os.WriteFile(filepath.Join(dir, "recent.json"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if list := r.List(); len(list) != 0 {
			t.Errorf("%.10q: %v", text, list)
		}
	}
	if err := r.Add("x.pintle"); err != nil || !filepath.IsAbs(r.List()[0]) {
		t.Error("a list that was broken cannot be added to", err)
	}
	if err := doc.NewRecent(filepath.Join(dir, "recent.json")).Add("x"); err == nil {
		t.Error("a file was taken for the folder")
	}
}

func TestWriteAtomicKeepsTheOldOnFailure(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	full := errors.New("disk full")
	err := doc.WriteAtomic(path, func(w io.Writer) error {
		if _, err := w.Write(make([]byte, 1<<20)); err != nil {
			return err
		}
		return full
	})
	if !errors.Is(err, full) {
		t.Error(err)
	}
	text, err := os.ReadFile(path)
	entries, _ := os.ReadDir(filepath.Dir(path))
	if string(text) != "old" || err != nil || len(entries) != 1 {
		t.Errorf("%q, %v, %d files", text, err, len(entries))
	}
}
