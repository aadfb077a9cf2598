package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Camera says from where the scene is seen. It is a plain comparable value:
// two equal cameras give the same picture. The viewer stands at Azimuth and
// Elevation round Target and looks at it, so the horizon stays level unless
// Roll says otherwise and no sequence of orbits can tip it over.
type Camera struct {
	Target    r3.Vec  // model point in the middle of the picture
	Azimuth   float64 // of the viewer about the up axis, radians; see Up
	Elevation float64 // of the viewer above the ground plane, -pi/2 to pi/2
	Roll      float64 // turn of the picture about the line of sight, counter-clockwise
	Height    float64 // model units from the bottom to the top edge, at Target
	FOV       float64 // vertical angle of view; 0 for a parallel projection
	Up        mesh.Up // model axis that points up; empty means Z
}

// Straight names one of the straight views or the axonometric one.
type Straight int

// The six straight views and the axonometric view. Front looks along model +Y
// when Z is up and along model -Z when Y is up.
const (
	Front Straight = iota
	Right
	Back
	Left
	Top
	Bottom
	Axonometric
)

// String returns the view's name as it stands in a title block.
func (s Straight) String() string {
	names := [...]string{"front", "right", "back", "left", "top", "bottom", "axonometric"}
	if s < 0 || int(s) >= len(names) {
		return "free"
	}
	return names[s]
}

// axonometricElevation is the elevation of the isometric view of ISO 5456-3,
// in which all three model axes are foreshortened alike: atan(1/sqrt 2).
var axonometricElevation = math.Atan(math.Sqrt(0.5))

// minHeight and maxHeight bound Camera.Height so that zooming never reaches
// a picture without numbers, whatever the unit.
const (
	minHeight = 1e-9
	maxHeight = 1e12
)

// NewCamera returns the axonometric view of a box with a parallel projection.
// An empty box gives a view of the unit cube about the origin.
func NewCamera(box r3.Box, up mesh.Up, aspect float64) Camera {
	c := Camera{Up: up, Height: 1}.Straight(Axonometric)
	return c.Fit(BoxCorners(box), aspect, DefaultMargin)
}

// ground returns the axes from which Azimuth is counted and the up axis.
func (c Camera) ground() (e1, e2, up r3.Vec) {
	if c.Up == mesh.UpY {
		return r3.Vec{X: 1}, r3.Vec{Z: -1}, r3.Vec{Y: 1}
	}
	return r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}
}

// Basis returns the picture's unit axes in model coordinates: right, up, and
// back, which points from Target to the viewer. They are right-handed and
// well defined at the poles too, where Azimuth alone says how the picture
// stands.
func (c Camera) Basis() (right, up, back r3.Vec) {
	e1, e2, e3 := c.ground()
	sa, ca := math.Sincos(c.Azimuth)
	se, ce := math.Sincos(c.Elevation)
	out := r3.Add(r3.Scale(ca, e1), r3.Scale(sa, e2))
	side := r3.Add(r3.Scale(-sa, e1), r3.Scale(ca, e2))
	back = r3.Add(r3.Scale(ce, out), r3.Scale(se, e3))
	up = r3.Add(r3.Scale(-se, out), r3.Scale(ce, e3))
	if c.Roll == 0 {
		return side, up, back
	}
	sr, cr := math.Sincos(c.Roll)
	right = r3.Add(r3.Scale(cr, side), r3.Scale(sr, up))
	up = r3.Add(r3.Scale(-sr, side), r3.Scale(cr, up))
	return right, up, back
}

// Straight returns the camera turned to one of the straight views, upright,
// with target and height unchanged.
func (c Camera) Straight(s Straight) Camera {
	c.Roll, c.Elevation = 0, 0
	switch s {
	case Front:
		c.Azimuth = -math.Pi / 2
	case Right:
		c.Azimuth = 0
	case Back:
		c.Azimuth = math.Pi / 2
	case Left:
		c.Azimuth = math.Pi
	case Top:
		c.Azimuth, c.Elevation = -math.Pi/2, math.Pi/2
	case Bottom:
		c.Azimuth, c.Elevation = -math.Pi/2, -math.Pi/2
	case Axonometric:
		c.Azimuth, c.Elevation = -math.Pi/4, axonometricElevation
	}
	return c
}

// From returns the camera moved round Target so that the viewer stands in the
// direction dir (model axes, any length): with the hinge direction of a joint
// the joint turns in true shape. Dir along the up axis keeps Azimuth; a zero
// or non-finite dir changes nothing.
func (c Camera) From(dir r3.Vec) Camera {
	n := r3.Norm(dir)
	if !(n > 0) || math.IsInf(n, 0) {
		return c
	}
	e1, e2, e3 := c.ground()
	x, y, z := r3.Dot(dir, e1), r3.Dot(dir, e2), r3.Dot(dir, e3)
	flat := math.Hypot(x, y)
	if flat > 1e-9*n {
		c.Azimuth = math.Atan2(y, x)
	}
	c.Elevation = math.Atan2(z, flat)
	c.Roll = 0
	return c
}

// Orbit turns the viewer by dAzimuth about the up axis and by dElevation
// toward it, round the model point pivot, which keeps its place in the
// picture. Elevation stops at the poles.
func (c Camera) Orbit(pivot r3.Vec, dAzimuth, dElevation float64) Camera {
	if !finite(dAzimuth) || !finite(dElevation) {
		return c
	}
	r0, u0, b0 := c.Basis()
	arm := r3.Sub(c.Target, pivot)
	x, y, z := r3.Dot(arm, r0), r3.Dot(arm, u0), r3.Dot(arm, b0)
	c.Azimuth = math.Remainder(c.Azimuth+dAzimuth, 2*math.Pi)
	c.Elevation = clamp(c.Elevation+dElevation, -math.Pi/2, math.Pi/2)
	r1, u1, b1 := c.Basis()
	turned := r3.Add(r3.Add(r3.Scale(x, r1), r3.Scale(y, u1)), r3.Scale(z, b1))
	c.Target = r3.Add(pivot, turned)
	return c
}

// Pan moves the picture by dx, dy pixels of a picture that is h pixels high:
// what lies at Target's depth follows the pointer exactly.
func (c Camera) Pan(dx, dy float64, h int) Camera {
	if h <= 0 {
		return c
	}
	right, up, _ := c.Basis()
	s := c.Height / float64(h)
	c.Target = r3.Add(c.Target, r3.Add(r3.Scale(-dx*s, right), r3.Scale(dy*s, up)))
	return c
}

// Zoom divides Height by factor and keeps the model point under pixel x, y at
// Target's depth where it is, in a picture of w x h pixels.
func (c Camera) Zoom(factor, x, y float64, w, h int) Camera {
	if !(factor > 0) || math.IsInf(factor, 0) || h <= 0 {
		return c
	}
	before := c.Height
	c.Height = clamp(c.Height/factor, minHeight, maxHeight)
	right, up, _ := c.Basis()
	s := (before - c.Height) / float64(h)
	dx, dy := x-float64(w)/2, float64(h)/2-y
	c.Target = r3.Add(c.Target, r3.Add(r3.Scale(dx*s, right), r3.Scale(dy*s, up)))
	return c
}

// DefaultMargin is the part of the picture that Fit leaves free at each edge.
const DefaultMargin = 0.1

// Fit moves Target and sets Height so that all points are in a picture of the
// given aspect (width / height) with the given free margin at each edge (a
// part of the picture, 0 to 0.45). The direction of view stays. No points, or
// a single one, leave Height as it is.
func (c Camera) Fit(points []r3.Vec, aspect, margin float64) Camera {
	if len(points) == 0 {
		return c
	}
	if !(aspect > 0) || math.IsInf(aspect, 0) {
		aspect = 1
	}
	right, up, back := c.Basis()
	lo := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	hi := r3.Scale(-1, lo)
	for _, p := range points {
		q := r3.Vec{X: r3.Dot(p, right), Y: r3.Dot(p, up), Z: r3.Dot(p, back)}
		lo = r3.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y), Z: math.Min(lo.Z, q.Z)}
		hi = r3.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y), Z: math.Max(hi.Z, q.Z)}
	}
	mid, size := r3.Scale(0.5, r3.Add(lo, hi)), r3.Sub(hi, lo)
	if !finite(mid.X + mid.Y + mid.Z) {
		return c
	}
	c.Target = r3.Add(r3.Add(r3.Scale(mid.X, right), r3.Scale(mid.Y, up)), r3.Scale(mid.Z, back))
	height := math.Max(size.Y, size.X/aspect)
	if c.FOV > 0 {
		// The nearest face of the box shows largest; bring Target's plane so far
		// off that this face still fits.
		height += size.Z * math.Tan(c.FOV/2)
	}
	if height > 0 {
		c.Height = clamp(height/(1-2*clamp(margin, 0, 0.45)), minHeight, maxHeight)
	}
	return c
}

// Between returns the camera a part t (0 to 1) of the way from c to d, turning
// the short way round: the frames of an animated change of view.
func (c Camera) Between(d Camera, t float64) Camera {
	if t <= 0 {
		return c
	}
	if t >= 1 {
		return d
	}
	e := d
	e.Target = r3.Add(r3.Scale(1-t, c.Target), r3.Scale(t, d.Target))
	e.Azimuth = c.Azimuth + t*math.Remainder(d.Azimuth-c.Azimuth, 2*math.Pi)
	e.Elevation = (1-t)*c.Elevation + t*d.Elevation
	e.Roll = c.Roll + t*math.Remainder(d.Roll-c.Roll, 2*math.Pi)
	e.FOV = (1-t)*c.FOV + t*d.FOV
	e.Height = math.Exp((1-t)*math.Log(c.Height) + t*math.Log(d.Height))
	return e
}

// Valid reports whether every number of the camera is finite and Height and
// FOV are in their range.
func (c Camera) Valid() bool {
	sum := c.Target.X + c.Target.Y + c.Target.Z + c.Azimuth + c.Elevation + c.Roll
	return finite(sum) && c.Height > 0 && !math.IsInf(c.Height, 0) && c.FOV >= 0 && c.FOV < 3
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func clamp(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }
