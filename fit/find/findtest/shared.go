package findtest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/meshio"
)

// SharedNames are the real mechanisms that Shared reads.
func SharedNames() []string { return []string{"arm-a", "arm-b", "hand-a", "leg-a"} }

// DemoNames are the program's demo mechanisms.
func DemoNames() []string { return []string{"drawbridge", "heron-leg", "tern-arm"} }

// Shared reads a real mechanism from the folder beside the repository, at rest
// or in a random pose. It skips the test where the folder is missing.
func Shared(t testing.TB, name string, posed bool) Mechanism {
	t.Helper()
	dir := filepath.Join(filepath.Dir(Root(t)), "shared", "mechanisms", name)
	if _, err := os.Stat(dir); err != nil {
		t.Skipf("no %s beside the repository", filepath.Join("shared", "mechanisms", name))
	}
	if posed {
		dir, name = filepath.Join(dir, "posed"), name+" posed"
	}
	return read(t, name, filepath.Join(dir, "model.obj"), filepath.Join(dir, "truth.json"))
}

// Demo reads one of the program's demo mechanisms.
func Demo(t testing.TB, name string) Mechanism {
	t.Helper()
	base := filepath.Join(Root(t), "assets", "demo", name)
	return read(t, name, base+".obj", base+".truth.json")
}

// Root is the folder of the repository: the nearest one above with a go.mod.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test's folder")
		}
		dir = up
	}
}

// truthFile is what a truth.json holds.
type truthFile struct {
	Unit   string       `json:"unit"`
	Parts  []truthPart  `json:"parts"`
	Joints []truthJoint `json:"joints"`
	Ignore [][2]string  `json:"ignore_pairs"`
}

type truthPart struct {
	Name string  `json:"name"`
	Diag float64 `json:"diag"`
}

type truthJoint struct {
	Name     string     `json:"name"`
	Type     string     `json:"type"`
	Parent   string     `json:"parent"`
	Child    string     `json:"child"`
	Origin   [3]float64 `json:"origin"`
	Axis     [3]float64 `json:"axis"`
	Lower    *float64   `json:"lower"`
	Upper    *float64   `json:"upper"`
	Value    float64    `json:"value"`
	Scorable bool       `json:"scorable"`
}

func read(t testing.TB, name, model, truth string) Mechanism {
	t.Helper()
	x, err := meshio.Read(context.Background(), model, meshio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(truth)
	if err != nil {
		t.Fatal(err)
	}
	var f truthFile
	if err := json.Unmarshal(text, &f); err != nil {
		t.Fatalf("reading %s: %v", truth, err)
	}
	m := Mechanism{Name: name, Parts: x.Parts}
	if m.Joints, m.Ignore, err = f.joints(x.Find); err != nil {
		t.Fatalf("reading %s: %v", truth, err)
	}
	return m
}

func (f truthFile) joints(part func(string) int) (joints []Joint, ignore [][2]int, err error) {
	for _, j := range f.Joints {
		o, a := j.Origin, j.Axis
		out := Joint{
			Name: j.Name, Parent: part(j.Parent), Child: part(j.Child), Kind: j.Type, Scorable: j.Scorable,
			Origin: r3.Vec{X: o[0], Y: o[1], Z: o[2]}, Axis: r3.Unit(r3.Vec{X: a[0], Y: a[1], Z: a[2]}),
		}
		if out.Parent < 0 || out.Child < 0 {
			return nil, nil, fmt.Errorf("joint %s joins %s and %s, which the model does not both have", j.Name, j.Parent, j.Child)
		}
		if j.Type == "continuous" {
			out.Kind = "revolute"
		}
		if j.Lower != nil && j.Upper != nil {
			out.Lower, out.Upper = *j.Lower-j.Value, *j.Upper-j.Value
		}
		joints = append(joints, out)
	}
	for _, p := range f.Ignore {
		if a, b := part(p[0]), part(p[1]); a >= 0 && b >= 0 {
			ignore = append(ignore, [2]int{a, b})
		}
	}
	return joints, ignore, nil
}
