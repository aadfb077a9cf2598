package assets

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pintle/assets/internal/mechanism"
)

func TestDemosAreThere(t *testing.T) {
	demos := Demos()
	var names []string
	for _, d := range demos {
		names = append(names, d.Name)
		if d.Title == "" || len(d.OBJ) == 0 || len(d.Truth) == 0 {
			t.Errorf("%s lacks its title, its model or its joints", d.Name)
		}
		if len(d.OBJ) > 3e6 {
			t.Errorf("%s.obj has %d bytes, want at most 3 MB", d.Name, len(d.OBJ))
		}
	}
	if want := []string{"tern-arm", "drawbridge", "heron-leg"}; !slices.Equal(names, want) {
		t.Errorf("demos are %v, want %v", names, want)
	}
	if len(demos[0].Guide) < 3 {
		t.Errorf("the first demo's guide has %d steps", len(demos[0].Guide))
	}
}

// The committed files are what the generator writes. Coordinates may differ in
// their last digit where a compiler fuses multiplication and addition.
func TestFilesAreWhatTheGeneratorWrites(t *testing.T) {
	built := mechanism.All()
	demos := Demos()
	if len(built) != len(demos) {
		t.Fatalf("the generator makes %d demos, %d are embedded", len(built), len(demos))
	}
	for i, m := range built {
		d := demos[i]
		truth, err := m.Truth()
		if err != nil {
			t.Fatal(err)
		}
		if d.Name != m.Name {
			t.Errorf("demo %d is %s, the generator makes %s", i, d.Name, m.Name)
		}
		for _, f := range []struct {
			name      string
			got, want []byte
		}{{d.Name + ".obj", d.OBJ, m.OBJ()}, {d.Name + ".truth.json", d.Truth, truth}} {
			if line := firstDifference(f.got, f.want); line > 0 {
				t.Errorf("%s is stale from line %d on; run: go generate ./assets/...", f.name, line)
			}
		}
	}
}

// firstDifference returns the first line in which two texts differ by more
// than the last decimal of a number, or 0.
func firstDifference(a, b []byte) int {
	la, lb := strings.Split(string(a), "\n"), strings.Split(string(b), "\n")
	for i := range max(len(la), len(lb)) {
		if i >= len(la) || i >= len(lb) {
			return i + 1
		}
		if la[i] == lb[i] {
			continue
		}
		fa, fb := strings.Fields(la[i]), strings.Fields(lb[i])
		if len(fa) != len(fb) {
			return i + 1
		}
		for k := range fa {
			x, errX := strconv.ParseFloat(strings.Trim(fa[k], ","), 64)
			y, errY := strconv.ParseFloat(strings.Trim(fb[k], ","), 64)
			if fa[k] != fb[k] && (errX != nil || errY != nil || math.Abs(x-y) > 1.5e-7) {
				return i + 1
			}
		}
	}
	return 0
}

func TestDifferencesAreFound(t *testing.T) {
	const text = "o a\nv 1.0000001 2.0 3.0\nf 1 2 3\n"
	for _, c := range []struct {
		other string
		want  int
	}{
		{text, 0},
		{"o a\nv 1.0000002 2.0 3.0\nf 1 2 3\n", 0},
		{"o a\nv 1.0000011 2.0 3.0\nf 1 2 3\n", 2},
		{"o b\nv 1.0000001 2.0 3.0\nf 1 2 3\n", 1},
		{"o a\nv 1.0000001 2.0 3.0\nf 1 2 4\n", 3},
		{"o a\nv 1.0000001 2.0 3.0\n", 3},
	} {
		if got := firstDifference([]byte(text), []byte(c.other)); got != c.want {
			t.Errorf("%q: first difference in line %d, want %d", c.other, got, c.want)
		}
	}
}

// The JSON names the parts of the model in its order, with their counts.
func TestTruthFitsTheModel(t *testing.T) {
	for _, d := range Demos() {
		var truth struct {
			Unit   string
			UpAxis string `json:"up_axis"`
			Parts  []struct {
				Name                string
				Triangles, Vertices int
			}
			Joints []struct {
				Name, Type, Parent, Child string
				Origin, Axis              [3]float64
				Lower, Upper, Value       float64
				Scorable                  bool
			}
		}
		if err := json.Unmarshal(d.Truth, &truth); err != nil {
			t.Fatalf("%s: %v", d.Name, err)
		}
		if truth.Unit != "mm" || truth.UpAxis != "Z" || len(truth.Joints) == 0 {
			t.Errorf("%s: unit %q, up %q, %d joints", d.Name, truth.Unit, truth.UpAxis, len(truth.Joints))
		}
		k := -1
		vertices, triangles := make([]int, len(truth.Parts)), make([]int, len(truth.Parts))
		lines := bufio.NewScanner(bytes.NewReader(d.OBJ))
		for lines.Scan() {
			switch kind, rest, _ := strings.Cut(lines.Text(), " "); kind {
			case "o":
				if k++; k >= len(truth.Parts) || truth.Parts[k].Name != rest {
					t.Fatalf("%s: part %d of the model is %q", d.Name, k, rest)
				}
			case "v":
				vertices[k]++
			case "f":
				triangles[k] += len(strings.Fields(rest)) - 2
			}
		}
		for i, p := range truth.Parts {
			if p.Vertices != vertices[i] || p.Triangles != triangles[i] {
				t.Errorf("%s, %s: JSON says %d vertices and %d triangles, the model has %d and %d", d.Name, p.Name, p.Vertices, p.Triangles, vertices[i], triangles[i])
			}
		}
		for _, j := range truth.Joints {
			n := math.Hypot(math.Hypot(j.Axis[0], j.Axis[1]), j.Axis[2])
			if math.Abs(n-1) > 1e-11 || !j.Scorable || (j.Type != "revolute" && j.Type != "prismatic") {
				t.Errorf("%s, %s: type %q, axis length %v, scorable %v", d.Name, j.Name, j.Type, n, j.Scorable)
			}
		}
	}
}
