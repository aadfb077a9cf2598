package doc

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc/doctest"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

func swing(t rapid.TB, o doctest.Options) *Session {
	t.Helper()
	m := doctest.Model(o)
	s, err := NewSession(New(ModelRef{Path: "/swing.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const swingBase, swingPin, swingArm = 0, 1, 2

func TestHousingIsTheLargestFaceAboutTheAxis(t *testing.T) {
	s := swing(t, doctest.Options{})
	axis := doctest.Options{}.Hinge()
	h, ok := s.housingOf(axis, swingArm, swingPin)
	if !ok || h.recipe != (DatumRecipe{Method: LeastSquares, Shape: fit.Cylinder}) || h.picks[0].Source != "arm" {
		t.Fatalf("housing %v on %v, found %v", h.recipe, h.picks, ok)
	}
	if math.Abs(h.datum.Radius-doctest.HubRadius) > 1e-9 || axis.Distance(h.datum.Origin) > 1e-9 {
		t.Errorf("radius %v, %v off the axis", h.datum.Radius, axis.Distance(h.datum.Origin))
	}
	if n := len(h.picks[0].Triangles); n != 4*doctest.Facets {
		t.Errorf("%d faces, want the whole outside of %d", n, 4*doctest.Facets)
	}
}

func TestHousingThatIsOffTheAxisIsPassedOver(t *testing.T) {
	for _, o := range []doctest.Options{{Off: 0.5}, {Tilt: 0.02}} {
		h, ok := swing(t, o).housingOf(o.Hinge(), swingArm, swingPin)
		if !ok || h.picks[0].Source != "pin" || math.Abs(h.datum.Radius-doctest.BoreRadius) > 1e-9 {
			t.Errorf("%+v: housing on %v of radius %v", o, h.picks[0].Source, h.datum.Radius)
		}
	}
	s := swing(t, doctest.Options{})
	aside := doctest.Options{}.Hinge()
	aside.Point.X += 3
	if _, ok := s.housingOf(aside, swingArm, swingPin); ok {
		t.Error("a housing was found about a line beside it")
	}
	if _, ok := s.housingOf(doctest.Options{}.Hinge(), swingBase); ok {
		t.Error("a housing was found on a plate")
	}
}

func TestHousingMovesWithTheModel(t *testing.T) {
	still, ok := swing(t, doctest.Options{}).housingOf(doctest.Options{}.Hinge(), swingArm, swingPin)
	if !ok {
		t.Fatal("no housing")
	}
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string) float64 { return rapid.Float64Range(-1, 1).Draw(t, name) }
		x, err := kinematics.Quaternion{f("x"), f("y"), f("z"), 1.1}.Transform()
		if err != nil {
			t.Skip(err)
		}
		x.T = r3.Vec{X: 1e4 * f("tx"), Y: 1e4 * f("ty"), Z: 1e4 * f("tz")}
		o := doctest.Options{Move: x}
		h, ok := swing(t, o).housingOf(o.Hinge(), swingArm, swingPin)
		if !ok || !slices.Equal(h.picks[0].Triangles, still.picks[0].Triangles) {
			t.Fatalf("moved, it is %v, found %v", h.picks, ok)
		}
	})
}

// A dome of ten facets whose rim is ragged: neither a cylinder nor a loop is
// about the axis, but ten vertices are.
func TestHousingFromSingleVertices(t *testing.T) {
	b := mesh.NewBuilder()
	top := b.Vertex(r3.Vec{Z: 0.5})
	var ring, rim []int32
	for i := range 10 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 10)
		r := 7 + 0.3*float64(i%4)
		ring = append(ring, b.Vertex(r3.Vec{X: 5 * c, Y: 5 * s}))
		rim = append(rim, b.Vertex(r3.Vec{X: r * c, Y: r * s, Z: -0.2 - 0.1*float64(i%3)}))
	}
	for i := range ring {
		k := (i + 1) % len(ring)
		b.Face(top, ring[i], ring[k])
		b.Face(ring[i], rim[i], rim[k])
		b.Face(ring[i], rim[k], ring[k])
	}
	built, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ, Parts: []mesh.Part{{Name: "dome", Mesh: built}}}
	s, err := NewSession(New(ModelRef{Path: "/dome.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	h, ok := s.housingOf(kinematics.Axis{Dir: r3.Vec{Z: 1}}, 0)
	if !ok || len(h.picks[0].Vertices) != 10 || math.Abs(h.datum.Radius-5) > 1e-9 {
		t.Fatalf("housing %v, radius %v, found %v", h.picks, h.datum.Radius, ok)
	}
}

func TestTurnOfAPolygonLacksOneSide(t *testing.T) {
	b := mesh.NewBuilder()
	var all []int32
	for i := range 8 {
		s, c := math.Sincos(math.Pi / 4 * float64(i))
		all = append(all, b.Vertex(r3.Vec{X: c, Y: s}))
	}
	b.Face(all...)
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	axis := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	for _, c := range []struct {
		list []int32
		want float64
	}{{all, 2*math.Pi - math.Pi/4}, {all[:7], math.Pi * 3 / 2}, {all[:5], 0}, {nil, 0}} {
		if got := turnOf(m, axis, c.list); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v cover %v, want %v", c.list, got, c.want)
		}
	}
}
