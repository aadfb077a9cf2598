package batch_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/batch"
	"pintle/app/doc/doctest"
)

// refused runs a command that must fail with one sentence that holds want.
func refused(t *testing.T, want string, args ...string) {
	t.Helper()
	c := run(t, batch.Deps{}, "", args...)
	if c.Code != batch.ExitBadInput || c.Window || c.out != "" {
		t.Errorf("%.80q: code %d, window %v, output %.80q", args, c.Code, c.Window, c.out)
	}
	if !strings.HasPrefix(c.err, "pintle: ") || strings.Count(c.err, "\n") != 1 || !strings.Contains(c.err, want) {
		t.Errorf("%.80q: %q, want %q", args, c.err, want)
	}
}

func TestUsageErrors(t *testing.T) {
	model := swing(t, doctest.Options{})
	document := document(t, doctest.Options{}, nil)
	hinge := []string{"--moving=arm", "--origin=0,0,0", "--axis=0,0,1"}
	with := func(args ...string) []string { return append([]string{"motion", model}, args...) }
	for _, c := range []struct {
		want string
		args []string
	}{
		{"fti is no command and there is no such file; did you mean the command fit? (see pintle --help)", []string{"fti"}},
		{"unknown flag --verbose", []string{"parts", model, "--verbose"}},
		{"missing flags: --shape=SHAPE", []string{"fit", model}},
		{`--shape must be one of "point","line"`, []string{"fit", model, "--shape", "egg"}},
		{`--unit must be one of "","mm","cm","m","in"`, []string{"parts", model, "--unit", "ell"}},
		{"swing.pintle: the document says what its model's unit and up axis are", []string{"parts", document, "--unit", "m"}},
		{"leave --unit and --up out", []string{"motion", document, "--joint=swing joint", "--up=Y"}},
		{`expected "<model>"`, []string{"parts"}},
		{"swing.obj is a model: --origin, --axis missing", with("--moving=arm")},
		{"swing.obj is a model: --moving, --origin, --axis missing", with()},
		{`--joint "x": swing.obj is a model and has no joints`, append(with(hinge...), "--joint=x")},
		{"swing.pintle is a document: name one of its joints with --joint", []string{"motion", document}},
		{"leave --moving, --origin, --axis out", append([]string{"motion", document, "--joint=x"}, hinge...)},
		{`swing.pintle: there is no joint "swing"; did you mean "swing joint"?`, []string{"motion", document, "--joint=swing"}},
		{`--moving: there is no part "amr"; did you mean "arm"?`, with("--moving=amr", "--origin=0,0,0", "--axis=0,0,1")},
		{`--moving: there is no part "Pin"; did you mean "pin"?`, with("--moving=arm,Pin", "--origin=0,0,0", "--axis=0,0,1")},
		{`--moving: there is no part "xyzzy"; there are "base", "pin", "arm"`, with("--moving=xyzzy", "--origin=0,0,0", "--axis=0,0,1")},
		{`--still: part "arm" cannot both move and stand still`, append(with(hinge...), "--still=pin,arm")},
		{"every part moves: there is nothing to meet", with("--moving=arm,pin,base", "--origin=0,0,0", "--axis=0,0,1")},
		{`--origin "0,0": there are 2 values, each row needs three: x y z, such as 0,12.5,-3`, with("--moving=arm", "--origin=0,0", "--axis=0,0,1")},
		{`--origin "0,0,nan": "nan" is not a finite number`, with("--moving=arm", "--origin=0,0,nan", "--axis=0,0,1")},
		{`--axis "0,0,up": "up" is not a number`, with("--moving=arm", "--origin=0,0,0", "--axis=0,0,up")},
		{`--axis: axis direction (0, 0, 0) has length 0`, with("--moving=arm", "--origin=0,0,0", "--axis=0,0,0")},
		{`--range "12": give two numbers of degrees, such as -30:120`, append(with(hinge...), "--range=12")},
		{`--range "9:3"`, append(with(hinge...), "--range=9:3")},
		{`--range "nan:3": give two numbers`, append(with(hinge...), "--range=nan:3")},
		{"the range from 10 to 20 degrees must hold 0, the pose as modelled", append(with(hinge...), "--range=10:20")},
		{"--samples -1: give 0 to 100000", append(with(hinge...), "--samples=-1")},
		{"out.txt: a mesh is written as .stl, .obj, .glb", append([]string{"envelope", model, "-o", "out.txt"}, hinge...)},
		{"resolution is -3 cells", append([]string{"envelope", model, "-o", "/tmp/x.stl", "--range=0:10", "--resolution=-3"}, hinge...)},
		{"swing.obj: only a document (*.pintle) has joints to hand over", []string{"handover", model, "--as=spec", "-o", "x.json"}},
		{`--as must be one of "spec"`, []string{"handover", document, "--as=urdf", "-o", "x.xml"}},
		{`--size "big": give width and height in pixels, such as 1440x900`, []string{"draw", document, "-o", "x.png", "--size=big"}},
		{`--size "0x9"`, []string{"draw", document, "-o", "x.png", "--size=0x9"}},
		{"more than 64 million pixels", []string{"draw", document, "-o", "x.png", "--size=99999x99999"}},
		{"x.bmp: pictures are written as .png", []string{"draw", document, "-o", "x.bmp"}},
		{`--pose "swing joint": give a joint and its value, such as elbow=30`, []string{"draw", document, "-o", "x.png", "--pose=swing joint"}},
		{`--pose "swing joint=far": "far" is not a number`, []string{"draw", document, "-o", "x.png", "--pose=swing joint=far"}},
		{`there is no joint "swing jiont"; did you mean "swing joint"?`, []string{"draw", document, "-o", "x.png", "--pose=swing jiont=3"}},
		{`there is no pose "rised"; did you mean "raised"?`, []string{"draw", document, "-o", "x.png", "--named=rised"}},
		{"this program was built without pictures", []string{"draw", document, "-o", "x.png"}},
		{`--part "arm": a text file of points has no parts`, []string{"fit", "-", "--shape=plane", "--part=arm"}},
		{`swing.obj: there is no part "hub"`, []string{"fit", model, "--shape=plane", "--part=hub"}},
	} {
		refused(t, c.want, c.args...)
	}
}

func TestBadPointFiles(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct{ text, want string }{
		"two":     {"1 2 3\n4 5\n", "two.txt, line 2: there are 2 values, each row needs three: x y z"},
		"four":    {"# head\n\n1,2,3,4\n", "four.txt, line 3: there are 4 values"},
		"word":    {"1 2 three\n", `word.txt, line 1: "three" is not a number`},
		"nan":     {"1 2 3\n1 2 NaN\n", `nan.txt, line 2: "NaN" is not a finite number`},
		"inf":     {"1 2 1e999\n", `inf.txt, line 1: "1e999" is not a finite number`},
		"comment": {"# nothing\n \n", "comment.txt: there are no points; each row needs x y z"},
		"empty":   {"", "empty"},
		"long":    {strings.Repeat("1", 2<<20), "long.txt, line 1: the line is longer than 1 MB"},
		"few":     {"1 2 3\n4 5 6\n", "few.txt: a cylinder needs at least 5 points, got 2"},
		"flat":    {"0 0 0\n1 0 0\n0 1 0\n1 1 0\n2 3 0\n", "flat.txt: the points do not determine a cylinder"},
	} {
		path := filepath.Join(dir, name+".txt")
		if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		refused(t, c.want, "fit", path, "--shape", "cylinder")
	}
	refused(t, "there is no such file", "fit", filepath.Join(dir, "no.xyz"), "--shape=plane")
}

// Hostile files of each kind: one sentence, exit code 2, no panic.
func TestBadFiles(t *testing.T) {
	dir := t.TempDir()
	good, err := os.ReadFile(swing(t, doctest.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	saved, err := os.ReadFile(document(t, doctest.Options{}, nil))
	if err != nil {
		t.Fatal(err)
	}
	stl := append(make([]byte, 80), 255, 255, 255, 127) // two billion triangles, none there
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty.obj":     {nil, "empty.obj: the file is empty"},
		"empty.glb":     {nil, "empty.glb: the file is empty"},
		"cut.obj":       {good[:len(good)*2/3-4], ""},
		"nan.obj":       {[]byte("v nan 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"), ""},
		"flat.obj":      {[]byte("v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n"), ""},
		"index.obj":     {[]byte("v 0 0 0\nf 1 2 9\n"), "index.obj, line 2"},
		"nothing.obj":   {[]byte("# nothing\n"), "nothing.obj"},
		"huge.stl":      {stl, "huge.stl"},
		"cut.glb":       {[]byte("glTF\x02\x00\x00\x00\xff\x00\x00\x00"), "cut.glb"},
		"text.glb":      {[]byte("hello"), "text.glb"},
		"cut.ply":       {[]byte("ply\nformat ascii 1.0\nelement vertex 9\n"), "cut.ply"},
		"noise.bin":     {[]byte{7, 1, 2, 3, 250, 9, 8}, "noise.bin"},
		"cut.pintle":    {saved[:len(saved)/2], "cut.pintle: line"},
		"empty.pintle":  {nil, "empty.pintle: line 1: the text ends too early"},
		"other.pintle":  {[]byte("{}"), `other.pintle: this is not a Pintle document`},
		"future.pintle": {[]byte(`{"pintle": 99}`), "future.pintle: the document has version 99"},
		"lost.pintle":   {[]byte(`{"pintle": 1, "model": {"path": "gone.obj", "sha256": ""}, "parts": [], "joints": [], "poses": []}`), "lost.pintle: the model gone.obj was not found; looked for " + filepath.Join(dir, "gone.obj")},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, c.data, 0o600); err != nil {
			t.Fatal(err)
		}
		c2 := run(t, batch.Deps{}, "", "parts", path)
		if name == "cut.obj" && c2.Code == 0 {
			continue // cut between two lines it is a smaller model
		}
		refused(t, c.want, "parts", path)
		if strings.HasSuffix(name, ".pintle") {
			refused(t, c.want, "motion", path, "--joint=x")
			refused(t, c.want, "draw", path, "-o", filepath.Join(dir, "x.png"))
			refused(t, c.want, "handover", path, "--as=spec", "-o", filepath.Join(dir, "x.json"))
		} else {
			refused(t, c.want, "motion", path, "--moving=a", "--origin=0,0,0", "--axis=0,0,1")
			refused(t, c.want, "envelope", path, "--moving=a", "--origin=0,0,0", "--axis=0,0,1", "-o", filepath.Join(dir, "x.stl"))
		}
	}
	// A folder is a model of several files: the bad one among them is named.
	refused(t, "cut.glb", "parts", dir)
	refused(t, "the folder holds no model file", "fit", t.TempDir(), "--shape=plane")
	refused(t, "there is no such file", "parts", filepath.Join(dir, "no.obj"))
	refused(t, "no such file", "handover", filepath.Join(dir, "no.pintle"), "--as=spec", "-o", "x.json")
	for _, name := range []string{"x.png", "x.json", "x.stl"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			t.Errorf("a failed command left %s", name)
		}
	}
}

// 10 km from the origin the answers keep their digits.
func TestFarFromTheOrigin(t *testing.T) {
	o := doctest.Options{Move: doctest.Skew()}
	o.Move.T.X += 1e7 // mm
	v := answer(t, 0, "motion", swing(t, o), "--moving=arm", "--origin="+triple(o.Hinge().Point), "--axis="+triple(o.Hinge().Dir), "--samples=0")
	free := doctest.FreeRange()
	near(t, "upper end", number(t, v, "free_range", "upper"), free.Upper*180/3.141592653589793, 1e-5)
	near(t, "runout", number(t, v, "runout", "radial", "circular"), 0, 1e-6)
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var errs strings.Builder
	o := batch.Main(ctx, []string{"parts", swing(t, doctest.Options{})}, batch.Streams{In: strings.NewReader(""), Out: &errs, Err: &errs}, batch.Deps{})
	if o.Code != batch.ExitBadInput || errs.String() != "pintle: cancelled\n" {
		t.Errorf("%+v, %q", o, errs.String())
	}
}

// A full output is an error, not a silence.
func TestOutputThatCannotBeWritten(t *testing.T) {
	var errs strings.Builder
	o := batch.Main(context.Background(), []string{"parts", swing(t, doctest.Options{})}, batch.Streams{In: strings.NewReader(""), Out: full{}, Err: &errs}, batch.Deps{})
	if o.Code != batch.ExitBadInput || !strings.Contains(errs.String(), "writing the answer: file already closed") {
		t.Errorf("%+v, %q", o, errs.String())
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }

// Whatever text comes in for points: no panic, and either an answer or one
// sentence.
func FuzzFitPoints(f *testing.F) {
	f.Add(gander, "circle")
	f.Add("1 2 3\n4 5 6\n7,8;9", "line")
	f.Add("1e300 1 1\n-1e300 1 1\n0 1e-300 5\n3 4 5\n1 1 1\n2 2 2\n9 1 4", "torus")
	f.Add("# nothing", "sphere")
	f.Add("1 2 3\r\n\x00 1 2", "cone")
	f.Fuzz(func(t *testing.T, text, shape string) {
		if strings.HasPrefix(shape, "-") || len(text) > 4096 {
			return
		}
		c := run(t, batch.Deps{}, text, "fit", "-", "--json", "--shape="+shape)
		switch {
		case c.Code == batch.ExitDone && c.err == "" && json.Valid([]byte(c.out)):
		case c.Code == batch.ExitBadInput && c.out == "" && strings.Count(c.err, "\n") == 1:
		default:
			t.Errorf("code %d, output %q, error %q", c.Code, c.out, c.err)
		}
	})
}
