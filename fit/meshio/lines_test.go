package meshio

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

func testJob(data []byte) *job {
	return &job{
		ctx: context.Background(), opt: Options{Name: "test"}, limits: Limits{}.withDefaults(),
		usage: &usage{}, data: bytes.NewReader(data), size: int64(len(data)),
	}
}

// Lines must come out whole wherever the blocks end.
func TestLinesAcrossBlocks(t *testing.T) {
	for _, end := range []string{"\n", "\r\n", "\r"} {
		for shift := range 40 {
			var want []string
			var b strings.Builder
			b.WriteString(strings.Repeat("x", blockSize-20+shift%20) + end)
			want = append(want, strings.Repeat("x", blockSize-20+shift%20))
			for i := range 30_000 {
				line := fmt.Sprint("line ", i*shift)
				want = append(want, line)
				b.WriteString(line + end)
			}
			l, err := newLines(testJob([]byte(b.String())))
			if err != nil {
				t.Fatal(err)
			}
			for i, w := range want {
				got, err := l.read()
				if err != nil || strings.TrimSuffix(string(got), "\r") != w || l.number != i+1 {
					t.Fatalf("end %q, shift %d: line %d (%d) is %.40q, %v, want %.40q", end, shift, i+1, l.number, got, err, w)
				}
			}
			if _, err := l.read(); err != io.EOF {
				t.Fatalf("error %v behind the last line, want EOF", err)
			}
		}
	}
}

// Continued lines are one line under the number of their first.
func TestContinuedLines(t *testing.T) {
	l, err := newLines(testJob([]byte("a \\\nb\\\r\nc\nd\n\\\n\\\ne\nf\\")))
	if err != nil {
		t.Fatal(err)
	}
	l.joins = true
	for _, want := range []struct {
		text   string
		number int
	}{{"a  b c", 1}, {"d", 4}, {"  e", 5}, {"f ", 8}} {
		got, err := l.read()
		if err != nil || string(got) != want.text || l.number != want.number {
			t.Errorf("line %d %q, %v, want line %d %q", l.number, got, err, want.number, want.text)
		}
	}
	if got, err := l.read(); err != io.EOF {
		t.Errorf("%q, %v behind the last line, want EOF", got, err)
	}
}

// Taking and skipping must see every byte once, in order.
func TestWindow(t *testing.T) {
	data := make([]byte, 3*blockSize+17)
	for i := range data {
		data[i] = byte(i * i >> 7)
	}
	rapid.Check(t, func(t *rapid.T) {
		w := newWindow(testJob(data), 0)
		at := int64(0)
		for range 60 {
			n := rapid.OneOf(rapid.IntRange(0, 60), rapid.IntRange(0, blockSize)).Draw(t, "n")
			if rapid.Bool().Draw(t, "skip") {
				if err := w.skip(int64(n)); err != nil {
					if err != io.EOF || at+int64(n) <= int64(len(data)) {
						t.Fatalf("skip %d at %d: %v", n, at, err)
					}
					return
				}
			} else {
				b, err := w.take(n)
				if err != nil {
					if err != io.EOF || at+int64(n) <= int64(len(data)) {
						t.Fatalf("take %d at %d: %v", n, at, err)
					}
					return
				}
				if !bytes.Equal(b, data[at:at+int64(n)]) {
					t.Fatalf("take %d at %d: wrong bytes", n, at)
				}
			}
			at += int64(n)
			if w.offset() != at {
				t.Fatalf("offset %d, want %d", w.offset(), at)
			}
		}
	})
}

func TestFields(t *testing.T) {
	rest := []byte("\t v  1.5\x00-2\r")
	var got []string
	for {
		var w []byte
		if w, rest = field(rest); len(w) == 0 {
			break
		}
		got = append(got, string(w))
	}
	if want := []string{"v", "1.5", "-2"}; !slices.Equal(got, want) {
		t.Errorf("fields %q, want %q", got, want)
	}
}

func TestCleanName(t *testing.T) {
	for in, want := range map[string]string{
		"arm": "arm", "  left arm ": "left arm", "a\tb\nc": "a b c", "a\x00b\x1b[31m": "ab[31m", "über—Gelenk ①": "über—Gelenk ①",
		"a\xffb": "a?b", "a\u202eb": "ab", "": "", " \r\n": "", strings.Repeat("ü", 500): strings.Repeat("ü", 200),
	} {
		if got := cleanName(in); got != want {
			t.Errorf("cleanName(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestHints(t *testing.T) {
	for text, want := range map[string]hints{
		"":                                   {},
		"units: mm":                          {unit: mesh.Millimetre},
		"Unit is inch":                       {unit: mesh.Inch},
		"units are in":                       {unit: mesh.Inch},
		"units in cm":                        {unit: mesh.Centimetre},
		"all lengths in millimeters":         {unit: mesh.Millimetre},
		"Centimetres, z up":                  {unit: mesh.Centimetre, up: mesh.UpZ},
		"Y-UP":                               {up: mesh.UpY},
		"up axis: y":                         {up: mesh.UpY},
		"up is Z":                            {up: mesh.UpZ},
		"set up by hand":                     {},
		"one unit of work, m of them":        {},
		"metres and inches":                  {unit: mesh.Inch, conflicting: true},
		"metres, as all metres":              {unit: mesh.Metre},
		"perimeters of parametric diameters": {},
	} {
		var h hints
		h.read([]byte(text))
		if h != want {
			t.Errorf("%q gives %+v, want %+v", text, h, want)
		}
	}
	h := hints{unit: mesh.Inch, up: mesh.UpY, conflicting: true}
	if got := h.settled(); got.unit != "" || got.up != mesh.UpY {
		t.Errorf("settled %+v, want no unit and Y", got)
	}
}

func TestLimitsDefaults(t *testing.T) {
	l := Limits{}.withDefaults()
	if l.MaxTriangles != 20_000_000 || l.MaxVertices != 60_000_000 || l.MaxFileBytes != 4<<30 || l.MaxCorners != 1<<16 {
		t.Errorf("defaults %+v", l)
	}
	l = Limits{MaxTriangles: 1 << 40, MaxVertices: 1 << 40, MaxCorners: 1 << 40}.withDefaults()
	if l.MaxTriangles > 1<<31/3 || l.MaxVertices >= 1<<31 || l.MaxCorners > 1<<16 {
		t.Errorf("indexes would not fit into int32: %+v", l)
	}
}

// A draft with starts and one without build the same triangles.
func TestDraftForms(t *testing.T) {
	points := []r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}}
	a := &draft{points: points, corners: []int32{0, 1, 2, 1, 3, 2}}
	b := &draft{points: points, corners: []int32{0, 1, 2, 1, 3, 2}, starts: []int32{0, 3}}
	ma, _, errA := a.fill().Build(mesh.Options{})
	mb, _, errB := b.fill().Build(mesh.Options{})
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if !slices.Equal(ma.Triangles(), mb.Triangles()) || a.numFaces() != b.numFaces() {
		t.Errorf("triangles %v and %v", ma.Triangles(), mb.Triangles())
	}
}
