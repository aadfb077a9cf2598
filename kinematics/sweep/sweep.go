// Package sweep finds the solid that a part passes through when its joints
// move over their ranges. Turns and slides are exact along the way: on each of
// a grid of circles about the hinge, or of lines along the slider, what lies
// inside the part is found in closed form and lengthened by the range; only
// between them is the surface interpolated. Kinds of joints with several
// freedoms, and limbs of several joints, are sweeps of sweeps. Screws and the
// swings of ball joints, which are neither, are found from distances. Lengths
// are model units, angles radians.
package sweep

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// The cells that Options.Resolution may ask for.
const (
	DefaultResolution = 300
	MinResolution     = 16
	MaxResolution     = 2000
)

// Options say how finely the functions work. The zero value is ready to use.
type Options struct {
	// Resolution is the number of cells across the larger side of the part's
	// profile, the rectangle in radius and height about the hinge that it
	// fills, or of its shadow along a slider. Of screws and swings it is the
	// number across the longest side of the envelope's box. 0 means
	// DefaultResolution.
	Resolution int
	// Progress, if not nil, hears how far the work is, from 0 to 1.
	Progress func(done float64, what string)
}

// Envelope is the solid that a part passes through.
type Envelope struct {
	Mesh *mesh.Mesh // closed, outward, in model units and axes
	// Volume is that of the solid with true arcs about the hinge; the mesh has
	// chords in their place and holds a little less.
	Volume float64
	Area   float64 // of the mesh
	// Error is how far Volume may be from that of the true envelope of the
	// given mesh: twice the change from half the resolution, which covers what
	// shrinks with the cells, three times the estimate of what depends on where
	// edges fall between the circles, and what chords of inner sweeps cut off.
	// What a note says was passed over is not in it.
	Error float64
	// Deviation bounds, in model units, how far the true envelope's surface and
	// the mesh's lie apart: no point that the part reaches is farther outside the
	// mesh, and no point of the mesh's surface is farther from a place where the
	// part's surface passes.
	Deviation float64
	Notes     []string // what the reader of the numbers should know, one sentence each
}

// Hinge returns the solid that the bodies pass through, taken together, when
// they turn about the axis over the range. Range 0 is the pose as modelled; the
// range need not contain it, and a range of no width gives the solid itself. A
// range without an end is a full turn.
//
// Material is where the winding number of the faces is not zero, so shells may
// overlap. A shell that is not closed is swept as a sheet, which a note says.
// It fails on a bad axis or range, when there is nothing to sweep, and when ctx
// ends.
func Hinge(ctx context.Context, bodies []*mesh.Mesh, axis kinematics.Axis, over kinematics.Range, o Options) (Envelope, error) {
	s, err := newTurn(axis, over)
	if err != nil {
		return Envelope{}, fmt.Errorf("sweeping about a hinge: %w", err)
	}
	return sweepOf(ctx, "sweeping about a hinge", node{bodies: bodies, stages: []stage{s}}, o)
}

// Slide returns the solid that the bodies pass through when they slide along
// dir, which may have any length, by the distances of the range in model units.
// The extent along dir is exact. What else holds is as for Hinge; a range
// without an end is refused.
func Slide(ctx context.Context, bodies []*mesh.Mesh, dir r3.Vec, over kinematics.Range, o Options) (Envelope, error) {
	s, err := newSlide(dir, over)
	if err != nil {
		return Envelope{}, fmt.Errorf("sweeping along a slider: %w", err)
	}
	return sweepOf(ctx, "sweeping along a slider", node{bodies: bodies, stages: []stage{s}}, o)
}

func (o Options) checked() (Options, error) {
	if o.Resolution == 0 {
		o.Resolution = DefaultResolution
	}
	if o.Resolution < MinResolution || o.Resolution > MaxResolution {
		return o, fmt.Errorf("resolution is %d cells, want %d to %d", o.Resolution, MinResolution, MaxResolution)
	}
	return o, nil
}

const (
	// safe is how many times the change from half the resolution the regular
	// part of the error may be. It should be a third of it.
	safe = 2
	// sure is how many times its estimate the random part of the error may be.
	sure = 3
	// leastCells is how many cells the thinner side of the profile gets.
	leastCells = 8
	// The shares of a cell by which chords may stray from arcs, where the mesh is
	// the answer and where it is swept on.
	lastSag, innerSag = 1.0 / 8, 1.0 / 64
)

// turn is a stage that turns about an axis.
type turn struct {
	axis kinematics.Axis
	over kinematics.Range
}

func newTurn(axis kinematics.Axis, over kinematics.Range) (turn, error) {
	if err := over.Check(); err != nil {
		return turn{}, err
	}
	if math.IsInf(over.Lower, 0) || math.IsInf(over.Upper, 0) {
		over = kinematics.Range{Lower: -math.Pi, Upper: math.Pi}
	}
	axis, err := kinematics.NewAxis(axis.Point, axis.Dir)
	return turn{axis, over}, err
}

func (t turn) sweep(ctx context.Context, bodies []*mesh.Mesh, g grain) (solid, error) {
	s, err := newSurface(bodies, newFrame(t.axis))
	if err != nil {
		return solid{}, err
	}
	if s.rHi == 0 {
		return solid{}, fmt.Errorf("the moving part lies on the hinge line, so it passes through no volume")
	}
	return s.swept(ctx, motion{lo: math.Mod(t.over.Lower, 2*math.Pi), width: t.over.Span()}, g)
}

// slide is a stage that slides along a unit direction.
type slide struct {
	dir  r3.Vec
	over kinematics.Range
}

func newSlide(dir r3.Vec, over kinematics.Range) (slide, error) {
	if err := over.Check(); err != nil {
		return slide{}, err
	}
	if math.IsInf(over.Lower, 0) || math.IsInf(over.Upper, 0) {
		return slide{}, fmt.Errorf("the slide from %g to %g has no end; give it limits", over.Lower, over.Upper)
	}
	dir, err := kinematics.Unit(dir, "slider direction")
	return slide{dir, over}, err
}

func (l slide) sweep(ctx context.Context, bodies []*mesh.Mesh, g grain) (solid, error) {
	f, err := l.frame(bodies)
	if err != nil {
		return solid{}, err
	}
	s, err := newSurface(bodies, f)
	if err != nil {
		return solid{}, err
	}
	return s.swept(ctx, motion{width: l.over.Span() * f.scale}, g)
}

// frame returns a straight frame in which the bodies take the angles from pi - 1
// on, after the slide those up to pi + 1, and all have X at least as large as
// they are wide.
func (l slide) frame(bodies []*mesh.Mesh) (*frame, error) {
	x := l.across(bodies)
	z := r3.Cross(x, l.dir)
	f := &frame{x: x, y: l.dir, z: z, straight: true}
	f.from = l.over.Lower
	begun := false
	var lo, hi r3.Vec // from the first vertex
	for _, b := range bodies {
		if b == nil {
			continue // refused where the surface is gathered
		}
		for _, p := range b.Vertices() {
			if !begun {
				f.origin, begun = p, true
			}
			d := r3.Sub(p, f.origin)
			px, py := r3.Dot(d, x), r3.Dot(d, l.dir)
			lo.X, lo.Y = min(lo.X, px), min(lo.Y, py)
			hi.X, hi.Y = max(hi.X, px), max(hi.Y, py)
		}
	}
	if !begun {
		return f, nil // refused likewise
	}
	long := hi.Y - lo.Y + l.over.Span()
	switch {
	case !(long > 0):
		return nil, fmt.Errorf("the moving part is flat across the slide and does not move, so it passes through no volume; widen the range")
	case math.IsInf(long, 0):
		return nil, fmt.Errorf("the moving part is too large to be swept")
	}
	f.scale = 2 / long // below pi, so that differences of angles never wrap
	wide := max(hi.X-lo.X, 1e-6*long)
	f.origin = r3.Add(f.origin, r3.Add(r3.Scale(lo.X-wide, x), r3.Scale(lo.Y+long/2, l.dir)))
	return f, nil
}

// across returns the direction across the slide that most faces along it look
// to, so that rows and columns run along them, by area, directions a quarter
// turn apart taken together.
func (l slide) across(bodies []*mesh.Mesh) r3.Vec {
	x := kinematics.Perpendicular(l.dir)
	z := r3.Cross(x, l.dir)
	var faces []level
	for _, b := range bodies {
		if b == nil {
			continue
		}
		for t := range b.Triangles() {
			n := b.AreaNormal(t)
			area := r3.Norm(n)
			if math.Abs(r3.Dot(n, l.dir)) <= flat*area && area > 0 {
				a := math.Atan2(r3.Dot(n, z), r3.Dot(n, x))
				faces = append(faces, level{a - math.Pi/2*math.Floor(a/(math.Pi/2)), area})
			}
		}
	}
	angle, most := cutAngle, 0.0 // away from the directions that models favour
	for _, f := range merged(faces, flat) {
		if f.area > most {
			angle, most = f.at, f.area
		}
	}
	sin, cos := math.Sincos(angle)
	return r3.Add(r3.Scale(cos, x), r3.Scale(sin, z))
}

// swept sweeps the surface by the motion in its frame.
func (s *surface) swept(ctx context.Context, m motion, g grain) (solid, error) {
	if s.numOpen == len(s.open) && m.width <= leastArc {
		return solid{}, fmt.Errorf("the moving part has no closed shell and does not move, so it passes through no volume; widen the range")
	}
	w := newSwath(s, m, g.resolution, g.least, g.sag)
	w.tell, w.rough, w.bare = g.tell, g.rough, g.bare
	if err := w.run(ctx); err != nil {
		return solid{}, err
	}
	if len(w.tris) == 0 {
		return solid{}, fmt.Errorf("the moving part passes through no volume that %d cells would show", g.resolution)
	}
	return w.solid(ctx)
}
