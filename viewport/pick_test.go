package viewport

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// facingView is the view of facing() in a picture of 400 x 300.
func facingView(s draft.Scene) draft.View { return facing().View(400, 300, 1, s.Bounds()) }

func TestPickParts(t *testing.T) {
	s := cubeScene()
	v := facingView(s)
	for _, c := range []struct {
		x, y float64
		part int
	}{{200, 150, 0}, {274, 150, 0}, {276, 150, 1}, {380, 150, 1}, {200, 70, -1}, {5, 150, -1}} {
		if h := Pick(s, v, c.x, c.y, PickPart); h.Part != c.part {
			t.Errorf("%g, %g: part %d, want %d", c.x, c.y, h.Part, c.part)
		}
	}
	s.Parts[0].NoPick = true
	if h := Pick(s, v, 200, 150, PickPart); h.Part != 1 {
		t.Errorf("looking through part 0: part %d, want 1", h.Part)
	}
	s.Parts[1].Look = draft.Hidden
	if h := Pick(s, v, 200, 150, PickPart); h.OK() {
		t.Errorf("hidden part %d picked", h.Part)
	}
}

func TestPickOnACube(t *testing.T) {
	s := cubeScene()
	v := facingView(s)
	// The corner at +X +Z of the near cube is at 275, 75; just outside counts.
	h := Pick(s, v, 277, 72, PickPoint)
	if want := (r3.Vec{X: 1, Y: -1, Z: 1}); !h.OK() || h.Point != want {
		t.Errorf("corner: %+v, want %v", h, want)
	}
	if h := Pick(s, v, 240, 110, PickPoint); h.OK() {
		t.Errorf("picked %v from the middle of a face", h.Point)
	}
	h = Pick(s, v, 203, 77, PickEdge)
	ends := s.Parts[0].Mesh.Topology().EdgeVerts[max(h.Edge, 0)]
	for _, e := range ends {
		if p := s.Parts[0].Mesh.Vertices()[e]; !h.OK() || p.Z != 1 || p.Y != -1 {
			t.Errorf("edge: %+v ends at %v", h, p)
		}
	}
	// A diagonal is no edge of a polygon.
	if h := Pick(s, v, 200, 150, PickEdge); h.OK() {
		t.Errorf("picked edge %d in the middle of a quad", h.Edge)
	}
	h = Pick(s, v, 200, 150, PickPatch)
	if len(h.Patch) != 2 {
		t.Errorf("a cube's face has %d triangles, want 2", len(h.Patch))
	}
}

func TestPickLoopsAndPatches(t *testing.T) {
	// A cylinder along the line of sight, turned a little to show its side.
	m := meshtest.Cylinder(1, -1, 1, 40, 1, true, func(p r3.Vec) r3.Vec {
		return r3.Rotate(r3.Vec{X: p.X, Y: -p.Z, Z: p.Y}, 0.5, r3.Vec{Z: 1})
	})
	s := draft.Scene{Parts: []draft.PartView{{Mesh: m}}}
	v := facingView(s)
	rim, _ := v.Project(m.Vertices()[40+10]) // on the near cap, at the top
	h := Pick(s, v, rim.X, rim.Y+2, PickLoop)
	if len(h.Loop.Edges) != 40 || !h.Loop.Closed {
		t.Fatalf("the rim has %d edges, closed %v; want 40, closed", len(h.Loop.Edges), h.Loop.Closed)
	}
	if got := len(h.Marks(s, draft.InkHover)); got != 1 {
		t.Errorf("%d marks for a loop", got)
	}
	sides := 0
	for x := 100.0; x < 300; x++ {
		h := Pick(s, v, x, 150, PickPatch)
		if len(h.Patch) == 80 {
			sides++
		} else if h.OK() && len(h.Patch) != 38 {
			t.Fatalf("a patch of %d triangles at %g", len(h.Patch), x)
		}
	}
	if sides < 20 {
		t.Errorf("the side was found at %d pixels only", sides)
	}
}

// What lies behind is not picked, unless one looks through.
func TestPickOnlyWhatIsVisible(t *testing.T) {
	s := cubeScene()
	// Before the far box's corner stands the near cube.
	s.Parts[1].Motion = kinematics.Identity()
	s.Parts[1].Motion.T = r3.Vec{X: 1.2, Z: -0.3}
	v := facingView(s)
	corner, _ := v.Project(r3.Vec{X: 0.2, Y: 4, Z: 0.7})
	if h := Pick(s, v, corner.X, corner.Y, PickPoint); h.OK() {
		t.Errorf("picked %v behind the cube", h.Point)
	}
}

// Against brute force: of all vertices near the pointer that a ray reaches,
// none is nearer than the one picked.
func TestPickPointOracle(t *testing.T) {
	m := meshtest.Torus(3, 1.1, 20, 12)
	s := draft.Scene{Parts: []draft.PartView{{Mesh: m}}}
	rapid.Check(t, func(t *rapid.T) {
		c := draft.NewCamera(s.Bounds(), "", 4.0/3).Orbit(r3.Vec{},
			rapid.Float64Range(-3, 3).Draw(t, "azimuth"), rapid.Float64Range(-2, 2).Draw(t, "elevation"))
		c.FOV = rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "fov")
		v := c.View(400, 300, 1, s.Bounds())
		x, y := rapid.Float64Range(40, 360).Draw(t, "x"), rapid.Float64Range(30, 270).Draw(t, "y")
		best := math.Inf(1)
		for _, p := range m.Vertices() {
			q, ok := v.Project(p)
			d := math.Hypot(q.X-x, q.Y-y)
			if ok && d < best && reached(m, v, p, q) {
				best = d
			}
		}
		h := Pick(s, v, x, y, PickPoint)
		switch {
		case !h.OK() && best < pickRadius*0.4:
			t.Fatalf("nothing picked, though a vertex is %g pixels off", best)
		case h.OK():
			q, _ := v.Project(h.Point)
			if d := math.Hypot(q.X-x, q.Y-y); d > best+1e-6 && best < pickRadius*0.4 {
				t.Fatalf("picked a vertex %g pixels off, one is at %g", d, best)
			} else if d > pickRadius {
				t.Fatalf("picked a vertex %g pixels off", d)
			}
		}
	})
}

func reached(m *mesh.Mesh, v draft.View, p r3.Vec, q draft.Pixel) bool {
	o, d := v.Ray(q.X, q.Y)
	_, dist, ok := m.BVH().Ray(o, d)
	return ok && dist > r3.Dot(r3.Sub(p, o), d)-1e-6
}

// Moving the whole scene moves the hit along.
func TestPickFollowsMotion(t *testing.T) {
	m := meshtest.Sphere(1, 24, 12)
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-3, 3).Draw(t, "angle")
		axis := r3.Unit(r3.Vec{X: 0.2, Y: 0.5, Z: 1})
		turn := func(p r3.Vec) r3.Vec { return r3.Rotate(p, angle, axis) }
		x := kinematics.Transform{X: turn(r3.Vec{X: 1}), Y: turn(r3.Vec{Y: 1}), Z: turn(r3.Vec{Z: 1}), T: r3.Vec{X: 0.2}}
		s := draft.Scene{Parts: []draft.PartView{{Mesh: m, Motion: x}}}
		v := facingView(s)
		px, py := rapid.Float64Range(160, 270).Draw(t, "x"), rapid.Float64Range(100, 200).Draw(t, "y")
		h := Pick(s, v, px, py, PickPart)
		if !h.OK() {
			t.Skip("beside the sphere")
		}
		q, _ := v.Project(h.Point)
		if math.Hypot(q.X-px, q.Y-py) > 1e-6 {
			t.Fatalf("hit appears at %v, asked at %g, %g", q, px, py)
		}
		if d := r3.Norm(r3.Sub(x.Apply(h.Modelled), h.Point)); d > 1e-12 {
			t.Fatalf("posed and modelled points disagree by %g", d)
		}
		if r3.Dot(h.Normal, v.Sight(h.Point)) > 0 {
			t.Fatal("the normal points away")
		}
	})
}

func TestPickBadInput(t *testing.T) {
	s := cubeScene()
	v := facingView(s)
	nan := math.NaN()
	for mode := PickPart; mode <= PickPatch; mode++ {
		for _, xy := range [][2]float64{{nan, 0}, {0, math.Inf(1)}, {-1e300, 5}, {1e9, 1e9}} {
			if h := Pick(s, v, xy[0], xy[1], mode); h.OK() {
				t.Errorf("%s at %v: part %d", mode, xy, h.Part)
			}
		}
		if h := Pick(draft.Scene{Parts: []draft.PartView{{}}}, v, 200, 150, mode); h.OK() {
			t.Errorf("%s in an empty scene: part %d", mode, h.Part)
		}
	}
	if got := nothing(PickLoop).Marks(s, 0); got != nil {
		t.Errorf("marks for no hit: %v", got)
	}
	if (Hit{Part: 7}).Marks(s, 0) != nil {
		t.Error("marks for a part that is not there")
	}
}

func BenchmarkPick(b *testing.B) {
	m := meshtest.Torus(3, 1.1, 1000, 500)
	s := draft.Scene{Parts: []draft.PartView{{Mesh: m}}}
	v := draft.NewCamera(s.Bounds(), "", 4.0/3).View(1440, 900, 1, s.Bounds())
	m.BVH()
	m.Topology()
	for _, mode := range []PickMode{PickPart, PickPoint, PickEdge} {
		b.Run(mode.String(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Pick(s, v, 500, 450, mode)
			}
		})
	}
}

func TestOwnersSayWhatAPatchIs(t *testing.T) {
	s := cubeScene()
	v := facingView(s)
	const x, y = 200, 150
	own := pick(s, v, x, y, PickPatch, func(_ *mesh.Mesh, tri int) []int32 { return []int32{int32(tri)} })
	if len(own.Patch) != 1 || int(own.Patch[0]) != own.Triangle {
		t.Errorf("the owner's patch is %v on triangle %d", own.Patch, own.Triangle)
	}
	if plain := Pick(s, v, x, y, PickPatch); len(plain.Patch) < 2 {
		t.Errorf("the smooth patch is %v", plain.Patch)
	}
}
