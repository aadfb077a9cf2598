package draft

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

func TestStraightViews(t *testing.T) {
	x, y, z := r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}
	neg := func(v r3.Vec) r3.Vec { return r3.Scale(-1, v) }
	for _, c := range []struct {
		up              mesh.Up
		view            Straight
		right, top, sky r3.Vec // picture right, picture up, toward the viewer
	}{
		{mesh.UpZ, Front, x, z, neg(y)},
		{mesh.UpZ, Right, y, z, x},
		{mesh.UpZ, Back, neg(x), z, y},
		{mesh.UpZ, Left, neg(y), z, neg(x)},
		{mesh.UpZ, Top, x, y, z},
		{mesh.UpZ, Bottom, x, neg(y), neg(z)},
		{mesh.UpY, Front, x, y, z},
		{mesh.UpY, Top, x, neg(z), y},
		{mesh.UpY, Right, neg(z), y, x},
	} {
		right, up, back := Camera{Up: c.up, Height: 1}.Straight(c.view).Basis()
		name := string(c.up) + " up, " + c.view.String()
		wantVec(t, name+": right", right, c.right, 1e-15)
		wantVec(t, name+": up", up, c.top, 1e-15)
		wantVec(t, name+": back", back, c.sky, 1e-15)
	}
}

// In the isometric view of ISO 5456-3 the three axes are foreshortened alike,
// by sqrt(2/3).
func TestAxonometricIsIsometric(t *testing.T) {
	right, up, _ := Camera{Height: 1}.Straight(Axonometric).Basis()
	for i, e := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		if l := math.Hypot(r3.Dot(e, right), r3.Dot(e, up)); math.Abs(l-math.Sqrt(2.0/3)) > 1e-15 {
			t.Errorf("axis %d appears %.15g long, want %.15g", i, l, math.Sqrt(2.0/3))
		}
	}
}

func TestProjectAndRayAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		w, h := rapid.IntRange(50, 2000).Draw(t, "w"), rapid.IntRange(50, 2000).Draw(t, "h")
		p := r3.Add(c.Target, vecGen(c.Height).Draw(t, "p"))
		v := c.View(w, h, 1, r3.Box{Min: r3.Sub(p, r3.Vec{X: 1, Y: 1, Z: 1}), Max: r3.Add(p, r3.Vec{X: 1, Y: 1, Z: 1})})
		q, ok := v.Project(p)
		if !ok {
			t.Skip("behind the eye")
		}
		o, d := v.Ray(q.X, q.Y)
		if math.Abs(r3.Norm(d)-1) > 1e-12 {
			t.Fatalf("direction of length %g", r3.Norm(d))
		}
		off := r3.Norm(r3.Cross(r3.Sub(p, o), d))
		if off > 1e-9*(c.Height+r3.Norm(p)) {
			t.Fatalf("the ray passes %v at a distance of %g", p, off)
		}
		if r3.Dot(r3.Sub(p, o), d) < 0 {
			t.Fatalf("%v lies behind the ray's origin %v", p, o)
		}
		wantVec2(t, v.Unproject(q.X, q.Y, p), p, 1e-9*(c.Height+r3.Norm(p)))
		if q.Depth < 0 || q.Depth > 1 {
			t.Fatalf("depth %g of a point within the bounds", q.Depth)
		}
	})
}

func wantVec2(t *rapid.T, got, want r3.Vec, tol float64) {
	if d := r3.Norm(r3.Sub(got, want)); !(d <= tol) {
		t.Fatalf("got %v, want %v (off by %g)", got, want, d)
	}
}

// However it is orbited, the picture keeps a right-handed orthonormal basis and
// the up axis never points down.
func TestOrbitNeverTips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		c.Roll = 0
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			c = c.Orbit(vecGen(100).Draw(t, "pivot"),
				rapid.Float64Range(-4, 4).Draw(t, "azimuth"), rapid.Float64Range(-4, 4).Draw(t, "elevation"))
		}
		right, up, back := c.Basis()
		wantVec2(t, r3.Cross(right, up), back, 1e-12)
		_, _, sky := c.ground()
		if r3.Dot(up, sky) < -1e-12 {
			t.Fatalf("up axis points down by %g", r3.Dot(up, sky))
		}
		if !c.Valid() {
			t.Fatalf("camera %+v is not valid", c)
		}
	})
}

func TestOrbitKeepsPivot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		pivot := r3.Add(c.Target, vecGen(c.Height/4).Draw(t, "pivot"))
		d := c.Orbit(pivot, rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "e"))
		p, ok1 := c.View(800, 600, 1, r3.Box{}).Project(pivot)
		q, ok2 := d.View(800, 600, 1, r3.Box{}).Project(pivot)
		if ok1 && ok2 && math.Hypot(p.X-q.X, p.Y-q.Y) > 1e-6 {
			t.Fatalf("pivot moved from %v to %v", p, q)
		}
	})
}

func TestPanAndZoomFollowThePointer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		dx, dy := rapid.Float64Range(-300, 300).Draw(t, "dx"), rapid.Float64Range(-300, 300).Draw(t, "dy")
		p, _ := c.Pan(dx, dy, 600).View(800, 600, 1, r3.Box{}).Project(c.Target)
		if math.Hypot(p.X-400-dx, p.Y-300-dy) > 1e-6 {
			t.Fatalf("target appears at %v after panning by %g, %g", p, dx, dy)
		}
		x, y := rapid.Float64Range(0, 800).Draw(t, "x"), rapid.Float64Range(0, 600).Draw(t, "y")
		under := c.View(800, 600, 1, r3.Box{}).Unproject(x, y, c.Target)
		z := c.Zoom(rapid.Float64Range(0.1, 10).Draw(t, "factor"), x, y, 800, 600)
		q, ok := z.View(800, 600, 1, r3.Box{}).Project(under)
		if !ok || math.Hypot(q.X-x, q.Y-y) > 1e-6 {
			t.Fatalf("what was under %g, %g is now at %v", x, y, q)
		}
	})
}

func TestFitShowsEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		points := rapid.SliceOfN(vecGen(1000), 2, 20).Draw(t, "points")
		aspect := rapid.Float64Range(0.3, 4).Draw(t, "aspect")
		h := 600
		w := int(aspect * float64(h))
		d := c.Fit(points, float64(w)/float64(h), 0.1)
		v := d.View(w, h, 1, boundsOf(points))
		extent := 0.0
		for _, p := range points {
			q, ok := v.Project(p)
			if !ok || q.X < 0 || q.Y < 0 || q.X > float64(w) || q.Y > float64(h) {
				t.Fatalf("%v appears at %v, outside %d x %d", p, q, w, h)
			}
			extent = math.Max(extent, math.Max(math.Abs(q.X/float64(w)-0.5), math.Abs(q.Y/float64(h)-0.5)))
		}
		if c.FOV == 0 && math.Abs(extent-0.4) > 1e-6 {
			t.Fatalf("the points reach %g of the picture from its middle, want 0.4", extent)
		}
	})
}

func TestBetween(t *testing.T) {
	a := Camera{Azimuth: 3, Height: 1}
	b := Camera{Azimuth: -3, Elevation: 1, Height: 4, Target: r3.Vec{X: 2}}
	if a.Between(b, 0) != a || a.Between(b, 1) != b {
		t.Error("the ends are not the cameras themselves")
	}
	m := a.Between(b, 0.5)
	if d := math.Abs(math.Remainder(m.Azimuth-math.Pi, 2*math.Pi)); d > 1e-12 {
		t.Errorf("half way at azimuth %g, want the short way through pi", m.Azimuth)
	}
	if math.Abs(m.Height-2) > 1e-12 {
		t.Errorf("half way %g high, want the geometric mean 2", m.Height)
	}
}

func TestFromLooksAlong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cameraGen().Draw(t, "camera")
		d := vecGen(5).Draw(t, "dir")
		if r3.Norm(d) < 1e-3 {
			t.Skip("no direction")
		}
		_, _, back := c.From(d).Basis()
		wantVec2(t, back, r3.Unit(d), 2e-9)
	})
}

func TestCameraBadInput(t *testing.T) {
	c := Camera{Height: 1}
	nan := math.NaN()
	for what, got := range map[string]Camera{
		"orbit by NaN":      c.Orbit(r3.Vec{}, nan, 0),
		"pan of no picture": c.Pan(3, 4, 0),
		"zoom by zero":      c.Zoom(0, 1, 1, 10, 10),
		"zoom by NaN":       c.Zoom(nan, 1, 1, 10, 10),
		"fit to nothing":    c.Fit(nil, 1, 0.1),
		"fit to NaN":        c.Fit([]r3.Vec{{X: nan}, {}}, 1, 0.1),
		"from nowhere":      c.From(r3.Vec{}),
		"from infinity":     c.From(r3.Vec{X: math.Inf(1)}),
	} {
		if got != c {
			t.Errorf("%s changed the camera to %+v", what, got)
		}
	}
	for _, bad := range []Camera{{}, {Height: nan}, {Height: 1, FOV: -1}, {Height: 1, FOV: 4}, {Height: math.Inf(1)}} {
		if bad.Valid() {
			t.Errorf("%+v passes as valid", bad)
		}
	}
	if z := c.Zoom(1e300, 0, 0, 10, 10); !z.Valid() {
		t.Errorf("zoomed to %+v", z)
	}
	v := c.View(0, 0, nan, r3.Box{Min: r3.Vec{X: nan}, Max: r3.Vec{X: 1}})
	if near, far, _ := v.Planes(); !(near < far) || v.Scale != 1 || v.Width != 1 {
		t.Errorf("view of nothing: %+v", v)
	}
}

func TestSegmentStopsAtTheEye(t *testing.T) {
	c := Camera{Height: 10, FOV: 1}.Straight(Front)
	v := c.View(100, 100, 1, r3.Box{Min: r3.Vec{X: -1, Y: -1, Z: -1}, Max: r3.Vec{X: 1, Y: 1, Z: 1}})
	eye, _ := v.Eye()
	behind := r3.Add(eye, r3.Vec{Y: -5})
	p, q, ok := v.Segment(r3.Vec{X: 0.5}, behind)
	if !ok || !finite(p.X+p.Y+q.X+q.Y) {
		t.Errorf("a line that leads behind the eye ends at %v, %v, %v", p, q, ok)
	}
	if _, _, ok := v.Segment(behind, r3.Add(behind, r3.Vec{X: 1})); ok {
		t.Error("a line behind the eye appears")
	}
}
