package batch_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/batch"
	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/assets"
	"pintle/kinematics"
)

// bridge finds the drawbridge's joints and returns the document.
func bridge(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, d := range assets.Demos() {
		if d.Name == "drawbridge" {
			if err := os.WriteFile(filepath.Join(dir, "bridge.obj"), d.OBJ, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	to := filepath.Join(dir, "bridge.pintle")
	ok(t, batch.ExitDone, "find", filepath.Join(dir, "bridge.obj"), "-o", to)
	return to
}

// edited rewrites a document with what f makes of it.
func edited(t *testing.T, path string, f func(doc.Document) (doc.Document, error)) {
	t.Helper()
	d, err := doc.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	if d, err = f(d); err != nil {
		t.Fatal(err)
	}
	if err := doc.Save(path, d); err != nil {
		t.Fatal(err)
	}
}

// The drawbridge as found: a strut, which locks where foot, hinge and head are
// in line, half a turn apart.
func TestLoopsOfTheDrawbridge(t *testing.T) {
	path := bridge(t)
	a := answer(t, batch.ExitDone, "loops", path)
	if got, want := keys(a), "file loops unit"; got != want {
		t.Errorf("keys %s", got)
	}
	l := at(a, "loops", 0)
	if at(l, "kind") != "strut" || number(t, l, "freedoms") != 1 || number(t, l, "kutzbach") != -2 || at(l, "problem") != nil {
		t.Errorf("loop %v", l)
	}
	d := at(l, "drivers", 0)
	if at(d, "unit") != "degree" || at(d, "lower", "at") != nil || at(d, "lower", "reason") != "full turn" {
		t.Errorf("driver %v", d)
	}
	var slide []float64
	for _, lock := range at(d, "locks").([]any) {
		if at(lock, "joint") == "strut rod" {
			slide = append(slide, number(t, lock, "at"))
		}
	}
	if len(slide) != 2 {
		t.Fatalf("the rod locks at %v", slide)
	}
	near(t, "between the rod's dead points", slide[1]-slide[0], 180, 1e-6)

	text := ok(t, batch.ExitDone, "loops", path)
	for _, want := range []string{"loop 1            strut: ", "up to           without end", "strut rod locks", "freedoms          1 (Gruebler-Kutzbach count -2, 3 redundant equations)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}

	// The rod's stroke, from piston on the bore's end to piston on the gland, holds
	// the leaf: by the generator's sizes -37 to 26 degrees, and a hair more where
	// the stroke has play.
	free := at(answer(t, batch.ExitDone, "loops", path, "--contact"), "loops", 0, "free")
	near(t, "free down to", number(t, free, "lower", "at"), -37, 0.5)
	near(t, "free up to", number(t, free, "upper", "at"), 26, 2)
	for _, end := range []string{"lower", "upper"} {
		if at(free, end, "joint") != "strut rod" {
			t.Errorf("free %s end %v", end, at(free, end))
		}
	}
	if text := ok(t, batch.ExitDone, "loops", path, "--contact"); !strings.Contains(text, "free by contact   -37.") {
		t.Errorf("text\n%s", text)
	}

	// With limits of the rod the leaf stops with it.
	edited(t, path, func(d doc.Document) (doc.Document, error) {
		return d.EditJoint("strut rod", func(j doc.Joint) doc.Joint {
			return j.WithLimit(0, &kinematics.Range{Lower: -60, Upper: 40})
		})
	})
	d = at(answer(t, batch.ExitDone, "loops", path), "loops", 0, "drivers", 0)
	for _, end := range []string{"lower", "upper"} {
		if at(d, end, "reason") != "limit" || at(d, end, "joint") != "strut rod" || math.Abs(number(t, d, end, "at")) > 90 {
			t.Errorf("%s end %v", end, at(d, end))
		}
	}

	// A foot that is askew holds everything.
	edited(t, path, func(d doc.Document) (doc.Document, error) {
		return d.EditJoint("strut barrel", func(j doc.Joint) doc.Joint {
			j.Frame.Hinge, j.Frame.Reach = j.Frame.Reach, j.Frame.Hinge
			return j
		})
	})
	l = at(answer(t, batch.ExitStop, "loops", path), "loops", 0)
	if why, _ := at(l, "problem").(string); !strings.HasPrefix(why, "the loop of ") {
		t.Errorf("problem %v", at(l, "problem"))
	}
	if text := ok(t, batch.ExitStop, "loops", path); !strings.Contains(text, "cannot move  the loop of ") {
		t.Errorf("text\n%s", text)
	}
}

func TestLoopsBadInput(t *testing.T) {
	path := swing(t, doctest.Options{})
	c := run(t, batch.Deps{}, "", "loops", path)
	if want := filepath.Base(path) + ": only a document (*.pintle) has joints"; c.Code != batch.ExitBadInput || !strings.Contains(c.err, want) {
		t.Errorf("code %d, %q", c.Code, c.err)
	}
	to := filepath.Join(t.TempDir(), "plain.pintle")
	ok(t, batch.ExitDone, "find", path, "-o", to)
	if text := ok(t, batch.ExitDone, "loops", to); text != "no joint closes a loop\n" {
		t.Errorf("text %q", text)
	}
}
