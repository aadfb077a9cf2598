package doc_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/doc"
)

func TestFileHoldsDegreesAndARelativePath(t *testing.T) {
	dir := t.TempDir()
	d := twoParts()
	d.Model.Path = filepath.Join(dir, "models", "arm.obj")
	deg := 30.0
	d.Joints[0].Limits[0].Lower = deg * (3.141592653589793 / 180)
	path := filepath.Join(dir, "arm.pintle")
	if err := doc.Save(path, d); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"{\n  \"pintle\": 2,\n", `"path": "models/arm.obj"`, `"lower": 30,`, `"vertices": [1, 2]`, `"origin": [0, 0, 0]`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the file lacks %s:\n%s", want, text)
		}
	}
	// Document and model move together.
	moved := filepath.Join(t.TempDir(), "arm.pintle")
	if err := os.WriteFile(moved, text, 0o600); err != nil {
		t.Fatal(err)
	}
	got, err := doc.Load(moved)
	if want := filepath.Join(filepath.Dir(moved), "models", "arm.obj"); err != nil || got.Model.Path != want {
		t.Errorf("model path %q (%v), want %q", got.Model.Path, err, want)
	}
}

// valid is a document's text; tests spoil one place in it.
func valid(t testing.TB) string {
	t.Helper()
	text, err := doc.Encode(twoParts(), "")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestDecodeRefusesInOneSentence(t *testing.T) {
	text := valid(t)
	for _, c := range []struct{ old, new, want string }{
		{`"pintle": 2`, `"pintle": 3`, "the document has version 3, this program reads versions up to 2: open it with a newer Pintle"},
		{`"pintle": 2`, `"pintle": 0`, "the document has version 0, but there is no such version"},
		{`"pintle": 2`, `"pintle": "1"`, `the version "pintle" must be a whole number, not "1"`},
		{`"pintle": 2,`, ``, `this is not a Pintle document: it has no "pintle" version`},
		{`"parts"`, `"bits"`, `unknown field "bits"`},
		{`"name": "elbow"`, `"name": "elbow", "nmae": "x"`, `unknown field "nmae"`},
		{`"name": "elbow"`, `"name": "elbow", "name": "x"`, `the name "name" stands twice in one object`},
		{`"shell": 0`, `"shell": -1`, `part "pin": shell -1: shells count from 0`},
		{`"shell": 0`, `"shell": 0.5`, `cannot be a number 0.5`},
		{`"vertices": [1, 2]`, `"vertices": [1, 3000000000]`, `cannot be a number 3000000000`},
		{`"hinge": [0, 0, 1]`, `"hinge": [0, 0, 2]`, `joint "elbow": hinge has a length of 2 where a unit vector is needed`},
		{`"hinge": [0, 0, 1]`, `"hinge": [0, 0, 1e999]`, `must be three numbers [x, y, z], not [0, 0, 1e999]`},
		{`"hinge": [0, 0, 1]`, `"hinge": [0, 0]`, `must be three numbers`},
		{`"direction": [0, 0, 1]`, `"direction": [0, 0, 1], "poimt": 1`, `unknown field "poimt"`},
		{`"direction": [0, 0, 1]`, `"direction": [0, 1]`, `read frame recipe`},
		{`"kind": "revolute"`, `"kind": "wobble"`, `joint "elbow": there is no joint kind "wobble"`},
		{`"child": "arm"`, `"child": "leg"`, `joint "elbow": there is no part "leg"`},
		{`"lower": -`, `"lower": 9`, `is above its upper limit`},
		{text, text[:len(text)/2], "the text ends too early"},
		{text, "", "the text ends too early"},
		{text, "solid ascii", "invalid character 's'"},
		{text, text + "{}", "there is text behind the end"},
	} {
		if !strings.Contains(text, c.old) {
			t.Fatalf("the document lacks %q:\n%s", c.old, text)
		}
		_, err := doc.Decode([]byte(strings.Replace(text, c.old, c.new, 1)), "/d")
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%.40q for %.40q: error %v, want %q", c.new, c.old, err, c.want)
		}
	}
}

func TestLoadRefusesWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	big := filepath.Join(dir, "big.pintle")
	f, err := os.Create(big)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(65 << 20); err != nil { // sparse
		t.Fatal(err)
	}
	f.Close()
	for path, want := range map[string]string{
		dir:                             dir + ": this is a folder, not a Pintle document",
		filepath.Join(dir, "no.pintle"): filepath.Join(dir, "no.pintle") + ": no such file or directory",
		big:                             big + ": the file has more than 64 MB, too much for a Pintle document",
		"/dev/null":                     "/dev/null: this is not an ordinary file",
	} {
		if _, err := doc.Load(path); err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	}
}

func TestSaveRefusesWhatCannotBeReadBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.pintle")
	d := twoParts()
	d.Joints[0].Parent = "nobody"
	if err := doc.Save(path, d); err == nil || !strings.Contains(err.Error(), `there is no part "nobody"`) {
		t.Errorf("error %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a file was written all the same")
	}
	if err := doc.Save(filepath.Dir(path), twoParts()); err == nil || !strings.Contains(err.Error(), "not an ordinary file") {
		t.Errorf("saving over a folder: %v", err)
	}
	if err := doc.Save(filepath.Join(path, "no", "x.pintle"), twoParts()); err == nil {
		t.Error("saved into a folder that is not there")
	}
}

func TestSaveFollowsLinksAndKeepsPermissions(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "real.pintle"), filepath.Join(dir, "link.pintle")
	if err := os.WriteFile(target, []byte("old"), 0o640); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if err := doc.Save(link, twoParts()); err != nil {
		t.Fatal(err)
	}
	if _, err := doc.Load(target); err != nil {
		t.Errorf("the link's target was not written: %v", err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Error("the link was replaced by a file")
	}
	if info, err := os.Stat(target); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("permissions %v, want 0640", info.Mode())
	}
}

func TestEqual(t *testing.T) {
	a, b := twoParts(), twoParts()
	if !a.Equal(b) {
		t.Error("equal documents differ")
	}
	b.Joints[0].Datum.RMS = 1
	b.Joints[0].Datum.Kind = "point"
	if a.Equal(b) {
		t.Error("different documents are equal")
	}
}

// Whatever the bytes: no panic, one sentence, and what is accepted can be
// written and read again.
func FuzzDecode(f *testing.F) {
	text := valid(f)
	f.Add([]byte(text))
	for i := 0; i < len(text); i += 97 {
		f.Add([]byte(text[:i]))
	}
	seeds, err := filepath.Glob(filepath.Join("testdata", "*.pintle"))
	if err != nil || len(seeds) == 0 {
		f.Fatal("no seeds in testdata", err)
	}
	for _, s := range seeds {
		data, err := os.ReadFile(s)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := doc.Decode(data, "/dir")
		if err != nil {
			if strings.Contains(err.Error(), "\n") || len(err.Error()) > 2000 {
				t.Errorf("not one clear sentence: %v", err)
			}
			return
		}
		text, err := doc.Encode(d, "/dir")
		if err != nil {
			t.Fatalf("accepted, but cannot be written: %v", err)
		}
		e, err := doc.Decode(text, "/dir")
		if err != nil {
			t.Fatalf("written, but cannot be read: %v\n%s", err, text)
		}
		if fmt.Sprint(len(d.Parts), len(d.Joints), len(d.Poses)) != fmt.Sprint(len(e.Parts), len(e.Joints), len(e.Poses)) {
			t.Fatal("something got lost")
		}
	})
}
