// Package slippage says which rigid motions move a surface along itself: the
// motions that a joint with these mating faces allows (N. Gelfand and L.
// Guibas, Shape Segmentation Using Local Slippage Analysis, Symposium on
// Geometry Processing 2004). Lengths are model units, angles radians.
package slippage

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Face is a piece of a surface.
type Face struct {
	At, Normal r3.Vec // Normal is a unit vector
	Area       float64
}

// Motion is an infinitesimal rigid motion: a point p has the speed
// Turn x (p - Centre) + Shift.
type Motion struct{ Centre, Turn, Shift r3.Vec }

// Speed is the speed of a point.
func (m Motion) Speed(p r3.Vec) r3.Vec {
	return r3.Add(r3.Cross(m.Turn, r3.Sub(p, m.Centre)), m.Shift)
}

// About is the turn about the line through o along unit a, by one radian.
func About(o, a r3.Vec) Motion { return Motion{Centre: o, Turn: a} }

// Along is the slide along unit a by one model unit.
func Along(a r3.Vec) Motion { return Motion{Shift: a} }

// Helix is the turn about the line through o along unit a by one radian with
// the slide that belongs to it: pitch is the slide of a full turn.
func Helix(o, a r3.Vec, pitch float64) Motion {
	return Motion{Centre: o, Turn: a, Shift: r3.Scale(pitch/(2*math.Pi), a)}
}

// Kept is the share of the area that the motion moves along itself: faces whose
// speed is within lean (radians, small) of the face count whole, those at
// twice that not at all. It is NaN for no area.
func Kept(faces []Face, m Motion, lean float64) float64 {
	good, all := 0.0, 0.0
	for _, f := range faces {
		all += f.Area
		v := m.Speed(f.At)
		l := r3.Norm(v)
		if l == 0 {
			good += f.Area
			continue
		}
		x := math.Abs(r3.Dot(v, f.Normal)) / l
		good += f.Area * min(1, max(0, 2-x/lean))
	}
	return good / all
}

// Group is how a surface can move along itself.
type Group string

// The groups, by what the surface is.
const (
	Locked     Group = "locked"     // none
	Turned     Group = "turned"     // one turn: a surface of revolution
	Extruded   Group = "extruded"   // one slide
	Helical    Group = "helical"    // one screw
	Cylinder   Group = "cylinder"   // a turn and a slide along its axis
	Plane      Group = "plane"      // two slides and a turn across them
	Sphere     Group = "sphere"     // three turns about one point
	Degenerate Group = "degenerate" // too little surface to tell
)

// Fit is the slippage of a surface.
type Fit struct {
	Group  Group
	Axis   r3.Vec  // unit: of the turn or slide; a plane's normal; zero for a sphere and where locked
	Origin r3.Vec  // on the axis, or the sphere's centre
	Pitch  float64 // of a helix: model units a turn, positive for a right-hand one
	Rms    float64 // root mean square speed across the faces of the worst of the group's motions, of those with unit speed on average
}

// ErrFaces is returned for faces that are not finite or have no area.
var ErrFaces = errors.New("slippage: no faces with a finite place, a normal and an area")

const (
	noPitch    = 0.02 // of the size, slide for a radian of a turn without pitch
	noTurn     = 0.02 // radians for a slide of the size
	degenerate = 1e-9 // of the faces' mean distance from one another
)

// Of finds the group of motions that leave faces along themselves, but for a
// root mean square speed across them of limit (0 stands for 0.03) against the
// motion's own. It fails on faces that are not finite or have no area.
func Of(faces []Face, limit float64) (Fit, error) {
	if !(limit > 0) {
		limit = 0.03
	}
	c, size, area := frame(faces)
	if !(area > 0) || math.IsInf(area, 0) || math.IsNaN(size) || math.IsInf(size, 0) {
		return Fit{}, ErrFaces
	}
	if size < degenerate*r3.Norm(c) || size == 0 {
		return Fit{Group: Degenerate}, nil
	}
	sum := mat.NewSymDense(6, nil)
	for _, f := range faces {
		p := r3.Scale(1/size, r3.Sub(f.At, c))
		t := r3.Cross(p, f.Normal)
		sum.SymRankOne(sum, f.Area/area, mat.NewVecDense(6, []float64{t.X, t.Y, t.Z, f.Normal.X, f.Normal.Y, f.Normal.Z}))
	}
	var e mat.EigenSym
	if !e.Factorize(sum, true) {
		return Fit{}, ErrFaces
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	values := e.Values(nil)
	n := 0
	for n < 6 && math.Sqrt(max(values[n], 0)) < limit {
		n++
	}
	g := basis{c, size, &vec, n}
	fit := g.classify()
	if n > 0 {
		fit.Rms = math.Sqrt(max(values[n-1], 0))
	}
	return fit, nil
}

// frame is the middle of the faces, their root mean square distance from it
// and their area.
func frame(faces []Face) (c r3.Vec, size, area float64) {
	for _, f := range faces {
		c = r3.Add(c, r3.Scale(f.Area, f.At))
		area += f.Area
	}
	c = r3.Scale(1/area, c)
	for _, f := range faces {
		size += f.Area * r3.Norm2(r3.Sub(f.At, c))
	}
	return c, math.Sqrt(size / area), area
}

// basis is the space of slippable motions: the first n columns of vec, turns
// in radians and slides in sizes about the middle c.
type basis struct {
	c    r3.Vec
	size float64
	vec  *mat.Dense
	n    int
}

func (b basis) column(k int) (turn, shift r3.Vec) {
	return r3.Vec{X: b.vec.At(0, k), Y: b.vec.At(1, k), Z: b.vec.At(2, k)},
		r3.Vec{X: b.vec.At(3, k), Y: b.vec.At(4, k), Z: b.vec.At(5, k)}
}

func (b basis) classify() Fit {
	switch b.n {
	case 0:
		return Fit{Group: Locked}
	case 1:
		t, s := b.column(0)
		return b.one(t, s)
	case 2:
		return b.cylinder()
	case 3:
		return b.three()
	}
	return Fit{Group: Degenerate}
}

// one is a turn, a slide or a screw.
func (b basis) one(t, s r3.Vec) Fit {
	w := r3.Norm(t)
	if w < noTurn*r3.Norm(s) {
		return Fit{Group: Extruded, Axis: r3.Unit(s), Origin: b.c}
	}
	a := r3.Scale(1/w, t)
	h := r3.Dot(s, a) / w
	f := Fit{Group: Turned, Axis: a, Origin: r3.Add(b.c, r3.Scale(b.size/(w*w), r3.Cross(t, s)))}
	if math.Abs(h) > noPitch {
		f.Group, f.Pitch = Helical, 2*math.Pi*h*b.size
	}
	return f
}

// cylinder finds, of two motions, the slide and the turn about its direction.
func (b basis) cylinder() Fit {
	t0, s0 := b.column(0)
	t1, s1 := b.column(1)
	// The mix with the least turn is the slide.
	p, q, r := r3.Dot(t0, t0), r3.Dot(t0, t1), r3.Dot(t1, t1)
	angle := math.Atan2(2*q, p-r)/2 + math.Pi/2
	sin, cos := math.Sincos(angle)
	mix := func(x, y r3.Vec, c, s float64) r3.Vec { return r3.Add(r3.Scale(c, x), r3.Scale(s, y)) }
	slide := b.one(mix(t0, t1, cos, sin), mix(s0, s1, cos, sin))
	turn := b.one(mix(t0, t1, -sin, cos), mix(s0, s1, -sin, cos))
	if slide.Group != Extruded || turn.Group == Extruded || math.Abs(r3.Dot(slide.Axis, turn.Axis)) < math.Cos(0.1) {
		return Fit{Group: Degenerate}
	}
	return Fit{Group: Cylinder, Axis: turn.Axis, Origin: turn.Origin}
}

// three is a sphere, whose turns span space, or a plane, whose turns have one
// direction.
func (b basis) three() Fit {
	turns := mat.NewDense(3, 3, nil)
	for k := range 3 {
		t, _ := b.column(k)
		turns.SetCol(k, []float64{t.X, t.Y, t.Z})
	}
	var svd mat.SVD
	if !svd.Factorize(turns, mat.SVDFull) {
		return Fit{Group: Degenerate}
	}
	v := svd.Values(nil)
	switch {
	case v[2] > 0.1*v[0]:
		return b.sphere()
	case v[1] < noTurn*v[0]:
		var u mat.Dense
		svd.UTo(&u)
		return Fit{Group: Plane, Axis: r3.Vec{X: u.At(0, 0), Y: u.At(1, 0), Z: u.At(2, 0)}, Origin: b.c}
	}
	return Fit{Group: Degenerate}
}

// sphere solves shift = centre x turn for the three motions by least squares.
func (b basis) sphere() Fit {
	a, rhs := mat.NewDense(9, 3, nil), mat.NewVecDense(9, nil)
	for k := range 3 {
		t, s := b.column(k)
		// o x t as a matrix times o
		a.SetRow(3*k, []float64{0, t.Z, -t.Y})
		a.SetRow(3*k+1, []float64{-t.Z, 0, t.X})
		a.SetRow(3*k+2, []float64{t.Y, -t.X, 0})
		for i, x := range [3]float64{s.X, s.Y, s.Z} {
			rhs.SetVec(3*k+i, x)
		}
	}
	var o mat.VecDense
	if err := o.SolveVec(a, rhs); err != nil {
		return Fit{Group: Degenerate}
	}
	return Fit{Group: Sphere, Origin: r3.Add(b.c, r3.Scale(b.size, r3.Vec{X: o.AtVec(0), Y: o.AtVec(1), Z: o.AtVec(2)}))}
}
