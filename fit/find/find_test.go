package find

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/fit/meshio"
)

func mustFind(t testing.TB, parts []mesh.Part) Result {
	t.Helper()
	res, err := Joints(context.Background(), parts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// The chain's hinges are exact by construction.
func TestChain(t *testing.T) {
	for _, facets := range []int{8, 12, 25, 64} {
		parts, made := chain(6, facets)
		if wrong := check(mustFind(t, parts), made, 100, 1e-9, 1e-9); wrong != "" {
			t.Errorf("%d facets: %s", facets, wrong)
		}
	}
}

// The demos' joints are exact by construction; the file has 1e-6 mm or so.
func TestDemos(t *testing.T) {
	for _, demo := range []string{"drawbridge", "heron-leg", "tern-arm"} {
		t.Run(demo, func(t *testing.T) { checkTruth(t, filepath.Join("..", "..", "assets", "demo", demo)) })
	}
}

type truth struct {
	Joints []struct {
		Parent, Child, Type string
		Origin, Axis        [3]float64
	}
}

func checkTruth(t *testing.T, base string) {
	m, err := meshio.Read(context.Background(), base+".obj", meshio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(base + ".truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var want truth
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	res := mustFind(t, m.Parts)
	if len(res.Joints) != len(want.Joints) {
		t.Errorf("%d joints, want %d", len(res.Joints), len(want.Joints))
	}
	for _, j := range want.Joints {
		found := false
		for _, c := range res.Joints {
			a, b := m.Parts[c.Parent].Name, m.Parts[c.Child].Name
			if !(a == j.Parent && b == j.Child || a == j.Child && b == j.Parent) {
				continue
			}
			found = true
			axis := r3.Unit(r3.Vec{X: j.Axis[0], Y: j.Axis[1], Z: j.Axis[2]})
			if tilt := lineAngle(axis, c.Axis); tilt > 1e-5 {
				t.Errorf("%s-%s: axis %g rad off", a, b, tilt)
			}
			off := fromLine(r3.Vec{X: j.Origin[0], Y: j.Origin[1], Z: j.Origin[2]}, c.Origin, c.Axis)
			if string(c.Kind) != j.Type || c.Kind == Revolute && off > 1e-3 || c.Confidence < 0.5 {
				t.Errorf("%s-%s: %s %g mm off with confidence %.2f", a, b, c.Kind, off, c.Confidence)
			}
		}
		if !found {
			t.Errorf("%s-%s not found", j.Parent, j.Child)
		}
	}
}

// A moved, scaled and re-cut copy has the moved joints.
func TestMovedScaled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.Float64Range(-1, 1)
		axis := r3.Vec{X: one.Draw(t, "x"), Y: one.Draw(t, "y"), Z: 0.1 + math.Abs(one.Draw(t, "z"))}
		turn := r3.NewRotation(math.Pi*one.Draw(t, "turn"), axis)
		scale := rapid.SampledFrom([]float64{1e-3, 1.0 / 25.4, 1, 39.37, 1e3}).Draw(t, "scale")
		shift := r3.Scale(1000*scale, r3.Vec{X: one.Draw(t, "dx"), Y: one.Draw(t, "dy"), Z: one.Draw(t, "dz")})
		parts, made := chain(4, rapid.IntRange(8, 40).Draw(t, "facets"), func(p r3.Vec) r3.Vec {
			return r3.Add(r3.Scale(scale, turn.Rotate(p)), shift)
		})
		if rapid.Bool().Draw(t, "triangles") {
			for i := range parts {
				parts[i].Mesh = meshtest.Triangulated(parts[i].Mesh)
			}
		}
		res, err := Joints(context.Background(), parts, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if wrong := check(res, made, 100*scale, 1e-8, 1e-8); wrong != "" {
			t.Fatal(wrong)
		}
	})
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	parts, _ := chain(7, 16)
	want := mustFind(t, parts)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for range 3 {
		if diff := cmp.Diff(want, mustFind(t, parts), cmpopts.EquateNaNs()); diff != "" {
			t.Fatal(diff)
		}
	}
}

// A part without circles beside one with: its partner's axis is used, and it
// says so.
func TestOneSided(t *testing.T) {
	hub := meshtest.Cylinder(10, 0, 20, 32, 1, true)
	block := meshtest.Box(r3.Vec{X: -15, Y: -15, Z: -10}, r3.Vec{X: 15, Y: 15, Z: 0})
	res := mustFind(t, []mesh.Part{{Name: "block", Mesh: block}, {Name: "hub", Mesh: hub}})
	if len(res.Joints) != 1 {
		t.Fatalf("%d joints, want 1", len(res.Joints))
	}
	c := res.Joints[0]
	if lineAngle(c.Axis, r3.Vec{Z: 1}) > 1e-9 || math.Hypot(c.Origin.X, c.Origin.Y) > 1e-9 {
		t.Errorf("axis %v through %v", c.Axis, c.Origin)
	}
	if !strings.Contains(c.Evidence.Words, "hub only") {
		t.Errorf("the evidence does not name the one part: %q", c.Evidence.Words)
	}
}

// Where nothing is turned nothing is guessed.
func TestNothingTurned(t *testing.T) {
	a := meshtest.Box(r3.Vec{}, r3.Vec{X: 10, Y: 10, Z: 10})
	b := meshtest.Box(r3.Vec{X: 10}, r3.Vec{X: 25, Y: 10, Z: 10})
	res := mustFind(t, []mesh.Part{{Name: "a", Mesh: a}, {Name: "b", Mesh: b}})
	if len(res.Joints) != 0 {
		t.Errorf("guessed %+v", res.Joints)
	}
	if len(res.Findings) == 0 || !strings.Contains(res.Findings[0].Text, "No turned geometry between a and b") {
		t.Errorf("findings %+v", res.Findings)
	}
}

func TestBadInput(t *testing.T) {
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	one := meshtest.Cylinder(1, 0, 1, 16, 1, true)
	for name, parts := range map[string][]mesh.Part{
		"none": nil, "one": {{Name: "a", Mesh: one}}, "nil mesh": {{Name: "a"}, {Name: "b", Mesh: one}},
		"empty mesh": {{Name: "a", Mesh: empty}, {Name: "b", Mesh: one}},
		"far apart":  {{Name: "a", Mesh: one}, {Name: "b", Mesh: mesh.Moved(one, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{X: 1e7}})}},
	} {
		res := mustFind(t, parts)
		if len(res.Joints) != 0 {
			t.Errorf("%s: joints %+v", name, res.Joints)
		}
	}
	if _, err := Joints(context.Background(), make([]mesh.Part, maxParts+1), Options{}); err == nil {
		t.Error("too many parts are no error")
	}
	parts, made := chain(3, 16)
	if res, err := Joints(context.Background(), parts, Options{Near: math.NaN()}); err != nil || check(res, made, 100, 1e-9, 1e-9) != "" {
		t.Errorf("Near NaN is not the default: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Joints(ctx, parts, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestProgressRises(t *testing.T) {
	parts, _ := chain(5, 16)
	last := 0.0
	_, err := Joints(context.Background(), parts, Options{Progress: func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %g after %g: %q", done, last, what)
		}
		last = done
	}})
	if err != nil || last != 1 {
		t.Errorf("ended at %g, %v", last, err)
	}
}

func BenchmarkJoints(b *testing.B) {
	for _, facets := range []int{40, 400, 4000} {
		parts, _ := chain(40, facets)
		n := 0
		for _, p := range parts {
			n += len(p.Mesh.Triangles())
		}
		b.Run(fmt.Sprintf("triangles=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for i := range parts {
					parts[i].Mesh = mesh.Moved(parts[i].Mesh, mesh.Identity()) // nothing cached
				}
				mustFind(b, parts)
			}
		})
	}
}
