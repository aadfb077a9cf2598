package findtest

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// guesses are true joints with every kind of fault, by seed.
func guesses(m Mechanism, seed uint64) []Found {
	r := source(seed, 7)
	var out []Found
	for _, j := range m.Joints {
		tilt := []float64{0, 0.3, 0.7, 3}[r.IntN(4)] * math.Pi / 180
		shift := []float64{0, 0.003, 0.008, 0.05}[r.IntN(4)] * m.Parts[j.Child].Mesh.Diagonal()
		side := across(j.Axis)
		f := Found{Parent: j.Parent, Child: j.Child, Kind: j.Kind, Confidence: r.Float64()}
		f.Axis = About(r3.Vec{}, side, tilt).Turn(j.Axis)
		f.Origin = r3.Add(j.Origin, r3.Add(r3.Scale(shift, side), r3.Scale(r.NormFloat64(), f.Axis)))
		switch r.IntN(7) {
		case 0:
			continue
		case 1:
			f.Parent, f.Child, f.Axis = f.Child, f.Parent, r3.Scale(-2, f.Axis)
		case 2:
			out = append(out, f)
		case 3:
			f.Kind = "prismatic"
		case 4:
			f.Child = r.IntN(len(m.Parts))
		case 5:
			f.Axis = r3.Vec{}
		}
		out = append(out, f)
	}
	return out
}

// The score file beside the mechanisms is the reference.
func TestScoreAgreesWithTheScript(t *testing.T) {
	python := "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import numpy").Run(); err != nil {
		t.Skip("no python3-numpy")
	}
	script := filepath.Join(filepath.Dir(Root(t)), "shared", "mechanisms", "score.py")
	for i, name := range SharedNames() {
		m := Shared(t, name, i%2 == 1)
		m.Joints[1].Kind = "prismatic"
		m.Joints[2].Scorable = false
		m.Ignore = [][2]int{{m.Joints[2].Child, m.Joints[2].Parent}, {0, 5}, {m.Joints[3].Parent, m.Joints[3].Child}}
		for seed := range uint64(6) {
			found := guesses(m, 10*seed+uint64(i))
			want := byScript(t, python, script, m, found)
			got := Score(m, found, 0)
			if got.Hits != want.Hits || got.Scorable != want.Scorable || got.Found != want.Found-want.Ignored || len(got.FalsePositives) != len(want.False) || len(got.Misses) != len(want.Misses) || got.KindRight != want.Kind {
				t.Errorf("%s, seed %d: hits %d of %d, found %d, false %d, kind %d, the script says %+v", name, seed, got.Hits, got.Scorable, got.Found, len(got.FalsePositives), got.KindRight, want)
			}
			if x := Quantile(got.Angles, 0.95) * 180 / math.Pi; got.Hits > 0 && math.Abs(x-want.Angle.P95) > 6e-6 {
				t.Errorf("%s, seed %d: 95th percentile %g deg, the script says %g", name, seed, x, want.Angle.P95)
			}
			if x := 100 * Quantile(got.Offsets, 0.5); len(got.Offsets) > 0 && math.Abs(x-want.Offset.Median) > 6e-6 {
				t.Errorf("%s, seed %d: median %g %%, the script says %g", name, seed, x, want.Offset.Median)
			}
		}
	}
}

type scriptScore struct {
	Hits, Scorable, Found, Ignored int
	Kind                           int                            `json:"kind_right"`
	Angle                          struct{ P95 float64 }          `json:"angle_deg"`
	Offset                         struct{ Median float64 }       `json:"offset_pct"`
	Misses                         []any                          `json:"misses"`
	False                          []struct{ Why, Parent string } `json:"false_positives"`
}

func byScript(t *testing.T, python, script string, m Mechanism, found []Found) scriptScore {
	t.Helper()
	list := func(p r3.Vec) []float64 { return []float64{p.X, p.Y, p.Z} }
	truth := truthFile{Unit: "m"}
	for _, p := range m.Parts {
		truth.Parts = append(truth.Parts, truthPart{p.Name, p.Mesh.Diagonal()})
	}
	for _, j := range m.Joints {
		truth.Joints = append(truth.Joints, truthJoint{
			Name: j.Name, Type: j.Kind, Parent: m.Parts[j.Parent].Name, Child: m.Parts[j.Child].Name, Scorable: j.Scorable,
			Origin: [3]float64(list(j.Origin)), Axis: [3]float64(list(j.Axis)),
		})
	}
	for _, p := range m.Ignore {
		truth.Ignore = append(truth.Ignore, [2]string{m.Parts[p[0]].Name, m.Parts[p[1]].Name})
	}
	joints := []map[string]any{}
	for _, f := range found {
		joints = append(joints, map[string]any{
			"parent": m.Parts[f.Parent].Name, "child": m.Parts[f.Child].Name, "type": f.Kind, "origin": list(f.Origin), "axis": list(f.Axis),
		})
	}
	dir := t.TempDir()
	files := []string{filepath.Join(dir, "truth.json"), filepath.Join(dir, "found.json")}
	for i, v := range []any{truth, map[string]any{"joints": joints}} {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(files[i], text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	text, err := exec.Command(python, script, files[0], files[1]).Output()
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	var s scriptScore
	if err := json.Unmarshal(text, &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// Quantiles of 0, 1, 2, 3, 4 and of two values, by hand.
func TestQuantile(t *testing.T) {
	for _, c := range []struct {
		v       []float64
		q, want float64
	}{{[]float64{4, 0, 2, 1, 3}, 0.5, 2}, {[]float64{4, 0, 2, 1, 3}, 0.9, 3.6}, {[]float64{7, 1}, 0.25, 2.5}, {[]float64{5}, 0.95, 5}} {
		if got := Quantile(c.v, c.q); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("quantile %g of %v is %g, want %g", c.q, c.v, got, c.want)
		}
	}
	if !math.IsNaN(Quantile(nil, 0.5)) {
		t.Error("a median of nothing")
	}
}

// Two mechanisms' scores add up to those of both.
func TestAddKeepsPlaces(t *testing.T) {
	m := Demo(t, DemoNames()[2])
	a, b := guesses(m, 1), guesses(m, 2)
	sum := Score(m, a, 0.2)
	sum.Add(Score(m, b, 0.2))
	if len(sum.Right) != len(a)+len(b) || len(sum.ByJoint) != 2*len(m.Joints) {
		t.Fatalf("%d found, %d joints", len(sum.Right), len(sum.ByJoint))
	}
	all := append(a, b...)
	hits := 0
	for i, k := range sum.ByJoint {
		if k < 0 {
			continue
		}
		hits++
		j := m.Joints[i%len(m.Joints)]
		if f := all[k]; pair(f.Parent, f.Child) != pair(j.Parent, j.Child) || f.Confidence < 0.2 || !sum.Right[k] {
			t.Errorf("joint %s is said to be hit by %+v", j.Name, f)
		}
	}
	if hits != sum.Hits || hits == 0 {
		t.Errorf("%d places, %d hits", hits, sum.Hits)
	}
}
