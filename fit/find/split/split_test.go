package split

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find"
	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// fused is a mechanism as one mesh, as a file without parts is read, and the
// part of every triangle.
func fused(t testing.TB, m findtest.Mechanism) (*mesh.Mesh, []int32) {
	t.Helper()
	b := mesh.NewBuilder()
	var of []int32
	holder := make([]int32, len(m.Parts)) // what is screwed on is one with what holds it
	for i := range holder {
		holder[i] = int32(i)
	}
	for range m.Fixed {
		for _, f := range m.Fixed {
			holder[f[1]] = holder[f[0]]
		}
	}
	for i, p := range m.Parts {
		shift := int32(b.NumVertices())
		for _, v := range p.Mesh.Vertices() {
			b.Vertex(v)
		}
		for _, f := range p.Mesh.Triangles() {
			b.Face(f[0]+shift, f[1]+shift, f[2]+shift)
			of = append(of, holder[i])
		}
	}
	x, report, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		t.Fatal(err)
	}
	if report.ZeroArea+report.Duplicate > 0 {
		of = owners(x, m, holder)
	}
	return x, of
}

// owners finds the part of every triangle again where the builder left some out.
func owners(x *mesh.Mesh, m findtest.Mechanism, holder []int32) []int32 {
	of := make([]int32, len(x.Triangles()))
	for k := range of {
		a, b, c := x.Corners(k)
		best := -1.0
		for i, p := range m.Parts {
			_, _, d := p.Mesh.BVH().Closest(a)
			_, _, e := p.Mesh.BVH().Closest(b)
			_, _, f := p.Mesh.BVH().Closest(c)
			if d += e + f; best < 0 || d < best {
				best, of[k] = d, holder[i]
			}
		}
	}
	return of
}

// agreement counts the pairs of shells that are of one part and in one group.
type agreement struct{ both, grouped, parts float64 }

func (a agreement) precision() float64 { return a.both / a.grouped }
func (a agreement) recall() float64    { return a.both / a.parts }

func (a *agreement) add(g Groups, of []int32) {
	shells := make([]int32, g.Shells) // the part of each
	for t, s := range g.Shell {
		shells[s] = of[t]
	}
	for i := range shells {
		for k := range i {
			same, group := shells[i] == shells[k], g.Group[i] == g.Group[k]
			if same {
				a.parts++
			}
			if group {
				a.grouped++
			}
			if same && group {
				a.both++
			}
		}
	}
}

func mustGroup(t testing.TB, m *mesh.Mesh) Groups {
	t.Helper()
	g, err := Group(t.Context(), m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func at(x, y, z float64) func(r3.Vec) r3.Vec {
	return func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: x, Y: y, Z: z}) }
}

// bench is a plate with a bore, four bolt holes and bolts in them, a cover on it
// and a hollow box below it: one part; and a lever on a pin through the bore:
// the other one. The last return value counts the shells of the first.
func bench(move func(r3.Vec) r3.Vec) (*mesh.Mesh, int) {
	holes := []findtest.Hole{{R: 6, N: 40}}
	var shells []*mesh.Mesh
	for i := range 4 {
		x, y := 24*float64(i%2)-12, 24*float64(i/2)-12
		holes = append(holes, findtest.Hole{X: x, Y: y, R: 1.6, N: 24})
		bolt := []findtest.Point{{X: 0, Y: -6}, {X: 1.5, Y: -6}, {X: 1.5, Y: 5}, {X: 3, Y: 5}, {X: 3, Y: 7}, {X: 0, Y: 7}}
		shells = append(shells, mesh.Moved(findtest.Lathe(bolt, 24, 0), findtest.Shift(r3.Vec{X: x, Y: y})))
	}
	shells = append(shells,
		findtest.Extrude(findtest.Rounded(-40, -20, 20, 20, 4, 5), holes, 0, 5),
		meshtest.Box(r3.Vec{X: -38, Y: -8, Z: 5}, r3.Vec{X: -28, Y: 8, Z: 6}),
		meshtest.Box(r3.Vec{X: -38, Y: -18, Z: -30}, r3.Vec{X: -18, Y: 18, Z: 0}),
		meshtest.Box(r3.Vec{X: -36, Y: -16, Z: -28}, r3.Vec{X: -20, Y: 16, Z: -2}))
	n := len(shells)
	pin := []findtest.Point{{X: 0, Y: -3}, {X: 5.9, Y: -3}, {X: 5.9, Y: 5.05}, {X: 8, Y: 5.05}, {X: 8, Y: 12}, {X: 0, Y: 12}}
	shells = append(shells, findtest.Lathe(pin, 40, 0.05),
		meshtest.Box(r3.Vec{X: 3, Y: -5, Z: 8}, r3.Vec{X: 60, Y: 5, Z: 11}))
	out := mesh.Join(shells...)
	b := mesh.NewBuilder()
	for _, p := range out.Vertices() {
		b.Vertex(move(p))
	}
	for _, f := range out.Triangles() {
		b.Face(f[0], f[1], f[2])
	}
	x, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		panic(err)
	}
	return x, n
}

// What belongs to which part of the bench is plain by construction, at any
// size and place.
func TestBench(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), r3.Vec{X: 1, Y: rapid.Float64Range(-2, 2).Draw(t, "y"), Z: 0.7})
		scale := rapid.SampledFrom([]float64{1e-3, 1, 25.4}).Draw(t, "scale")
		shift := r3.Scale(scale*rapid.SampledFrom([]float64{0, 300}).Draw(t, "shift"), r3.Vec{X: 1, Y: -2, Z: 0.5})
		x, n := bench(func(p r3.Vec) r3.Vec { return r3.Add(r3.Scale(scale, turn.Rotate(p)), shift) })
		g, err := Group(context.Background(), x, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if g.Shells != n+2 || g.Groups != 2 {
			t.Fatalf("%d shells in %d groups, want %d in 2: %v", g.Shells, g.Groups, n+2, g.Group)
		}
		for i, group := range g.Group {
			if want := i >= n; (group == 1) != want {
				t.Errorf("shell %d is in group %d", i, group)
			}
		}
	})
}

// The real mechanisms and the demos as one mesh.
func TestGroupsAreParts(t *testing.T) {
	var all []findtest.Mechanism
	for _, n := range findtest.DemoNames() {
		all = append(all, findtest.Demo(t, n))
	}
	for _, n := range findtest.SharedNames() {
		all = append(all, findtest.Shared(t, n, os.Getenv("PINTLE_TABLE") == "full"))
	}
	score(t, all, agreed{0.95, 0.85, 0.9})
}

// Made mechanisms are harder: their parts are unions of coaxial shells.
func TestGroupsOfMade(t *testing.T) {
	var all []findtest.Mechanism
	for _, k := range findtest.Kinds() {
		all = append(all, findtest.Made(k, 3))
	}
	score(t, all, agreed{0.85, 0.85, 0.65})
}

// agreed is what is asked of the groups, and of the joints found between them.
type agreed struct{ precision, recall, joints float64 }

// score logs how well groups are parts and how many joints are found between
// them, and fails below the limits.
func score(t *testing.T, all []findtest.Mechanism, least agreed) {
	t.Helper()
	var sum agreement
	var joints findtest.Scores
	for _, m := range all {
		x, of := fused(t, m)
		g := mustGroup(t, x)
		var a agreement
		a.add(g, of)
		sum.both, sum.grouped, sum.parts = sum.both+a.both, sum.grouped+a.grouped, sum.parts+a.parts
		s := jointsBetween(t, x, g, of, m)
		joints.Add(s)
		t.Logf("%-14s %3d parts %4d shells %3d groups  precision %.3f recall %.3f  joints %d of %d, %d false", m.Name, len(m.Parts), g.Shells, g.Groups, a.precision(), a.recall(), s.Hits, s.Scorable, len(s.FalsePositives))
	}
	t.Logf("all: precision %.3f recall %.3f, joints: recall %.3f precision %.3f", sum.precision(), sum.recall(), joints.Recall(), joints.Precision())
	if sum.precision() < least.precision || sum.recall() < least.recall || joints.Recall() < least.joints {
		t.Errorf("precision %.3f, recall %.3f, joints %.3f, want %+v", sum.precision(), sum.recall(), joints.Recall(), least)
	}
}

// jointsBetween finds the joints between groups, each of which stands for the part that
// most of it is of.
func jointsBetween(t *testing.T, x *mesh.Mesh, g Groups, of []int32, m findtest.Mechanism) findtest.Scores {
	t.Helper()
	parts := g.Parts(x)
	res, err := find.Joints(t.Context(), parts, find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	area := make([][]float64, g.Groups)
	for i := range area {
		area[i] = make([]float64, len(m.Parts))
	}
	for k, s := range g.Shell {
		area[g.Group[s]][of[k]] += r3.Norm(x.AreaNormal(k))
	}
	part := func(group int) int {
		best := 0
		for i, a := range area[group] {
			if a > area[group][best] {
				best = i
			}
		}
		return best
	}
	var found []findtest.Found
	for _, c := range res.Joints {
		found = append(found, findtest.Found{Parent: part(c.Parent), Child: part(c.Child), Kind: string(c.Kind), Origin: c.Origin, Axis: c.Axis, Confidence: c.Confidence})
	}
	return findtest.Score(m, found, 0.5)
}

func TestBadInput(t *testing.T) {
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, m := range map[string]*mesh.Mesh{"nil": nil, "empty": empty} {
		if g := mustGroup(t, m); g.Groups != 0 || g.Shells != 0 || len(g.Parts(m)) != 0 {
			t.Errorf("%s: %+v", name, g)
		}
	}
	one := meshtest.Torus(5, 1, 20, 10)
	parts, err := Parts(t.Context(), one, Options{})
	if err != nil || len(parts) != 1 || parts[0].Mesh != one || parts[0].Name != "shell group 1" {
		t.Errorf("one shell: %v, %v", parts, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Group(ctx, mesh.Join(one, one), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// crumbs is n triangles of their own, far from one another.
func crumbs(n int) *mesh.Mesh {
	b := mesh.NewBuilder()
	for i := range n {
		x, y := float64(i%1000)*100, float64(i/1000)*100
		b.Face(b.Vertex(r3.Vec{X: x, Y: y}), b.Vertex(r3.Vec{X: x + 1, Y: y}), b.Vertex(r3.Vec{X: x, Y: y + 1}))
	}
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		panic(err)
	}
	return m
}

func TestManyShells(t *testing.T) {
	if g := mustGroup(t, crumbs(3000)); g.Shells != 3000 || g.Groups != 3000 {
		t.Errorf("%d shells in %d groups, want 3000 each: they are far apart", g.Shells, g.Groups)
	}
	if _, err := Group(t.Context(), crumbs(maxShells+1), Options{}); err == nil || !strings.Contains(err.Error(), "the limit is") {
		t.Errorf("too many shells: %v", err)
	}
	// Rivets by the thousand on one plate are one part with it.
	shells := []*mesh.Mesh{meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{X: 101, Y: 31, Z: 0})}
	for i := range 3000 {
		shells = append(shells, meshtest.Cylinder(0.3, 0, 0.2, 8, 1, true, at(float64(i%100), float64(i/100), 0)))
	}
	if g := mustGroup(t, mesh.Join(shells...)); g.Groups != 1 {
		t.Errorf("a plate with rivets falls into %d groups", g.Groups)
	}
}

// Parts that touch along an edge or at a vertex are not one shell, though they
// were welded there.
func TestShellsPartAtTouchingEdges(t *testing.T) {
	b := mesh.NewBuilder()
	for _, m := range []*mesh.Mesh{meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}), meshtest.Box(r3.Vec{X: 1, Y: 1}, r3.Vec{X: 2, Y: 2, Z: 1}), meshtest.Box(r3.Vec{X: 2, Y: 2, Z: 1}, r3.Vec{X: 3, Y: 3, Z: 2})} {
		shift := int32(b.NumVertices())
		for _, p := range m.Vertices() {
			b.Vertex(p)
		}
		for _, f := range m.Triangles() {
			b.Face(f[0]+shift, f[1]+shift, f[2]+shift)
		}
	}
	m, _, err := b.Build(mesh.Options{Weld: mesh.DefaultWeld})
	if err != nil {
		t.Fatal(err)
	}
	if _, n := m.Topology().Shells(); n != 1 {
		t.Fatalf("the boxes are not welded: %d", n)
	}
	if _, n := shells(m); n != 3 {
		t.Errorf("%d shells, want 3", n)
	}
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	x, _ := bench(func(p r3.Vec) r3.Vec { return p })
	want := mustGroup(t, x)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if diff := cmp.Diff(want, mustGroup(t, x)); diff != "" {
		t.Error(diff)
	}
}

func BenchmarkGroup(b *testing.B) {
	for _, n := range []int{10, 100, 1000} {
		shells := []*mesh.Mesh{}
		for i := range n {
			shells = append(shells, meshtest.Cylinder(0.6, 0, 0.5, 40, 4, true, at(float64(i%40), float64(i/40), 0.4*float64(i%2))))
		}
		m := mesh.Join(shells...)
		b.Run(fmt.Sprintf("shells=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				mustGroup(b, m)
			}
		})
	}
}
