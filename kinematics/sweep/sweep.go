// Package sweep finds the solid that a part passes through when it turns about
// a hinge over a range. Angles are exact: on each of a grid of circles about
// the hinge the arcs inside the part are found in closed form and lengthened
// by the range; only between the circles is the surface interpolated. Lengths
// are model units, angles radians.
package sweep

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// The cells that Options.Resolution may ask for.
const (
	DefaultResolution = 300
	MinResolution     = 16
	MaxResolution     = 2000
)

// Options say how finely Hinge works. The zero value is ready to use.
type Options struct {
	// Resolution is the number of cells across the larger side of the part's
	// profile, the rectangle in radius and height about the hinge that it
	// fills. 0 means DefaultResolution.
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
	// shrinks with the cells, and three times the estimate of what depends on
	// where edges fall between the circles. What a note says was passed over is
	// not in it.
	Error float64
	Notes []string // what the reader of the numbers should know, one sentence each
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
	env, err := hinge(ctx, bodies, axis, over, o)
	if err != nil {
		return Envelope{}, fmt.Errorf("sweeping about a hinge: %w", err)
	}
	return env, nil
}

func hinge(ctx context.Context, bodies []*mesh.Mesh, axis kinematics.Axis, over kinematics.Range, o Options) (Envelope, error) {
	if o.Resolution == 0 {
		o.Resolution = DefaultResolution
	}
	if o.Resolution < MinResolution || o.Resolution > MaxResolution {
		return Envelope{}, fmt.Errorf("resolution is %d cells, want %d to %d", o.Resolution, MinResolution, MaxResolution)
	}
	if err := over.Check(); err != nil {
		return Envelope{}, err
	}
	if math.IsInf(over.Lower, 0) || math.IsInf(over.Upper, 0) {
		over = kinematics.Range{Lower: -math.Pi, Upper: math.Pi}
	}
	axis, err := kinematics.NewAxis(axis.Point, axis.Dir)
	if err != nil {
		return Envelope{}, err
	}
	s, err := newSurface(bodies, axis)
	if err != nil {
		return Envelope{}, err
	}
	if s.numOpen == len(s.open) && over.Span() <= leastArc {
		return Envelope{}, fmt.Errorf("the moving part has no closed shell and does not move, so it passes through no volume; widen the range")
	}
	if s.rHi == 0 {
		return Envelope{}, fmt.Errorf("the moving part lies on the hinge line, so it passes through no volume")
	}
	coarse := newSwath(s, over, o.Resolution/2, leastCells/2)
	if err := coarse.run(ctx); err != nil {
		return Envelope{}, err
	}
	w := newSwath(s, over, o.Resolution, leastCells)
	w.tell = o.Progress
	if err := w.run(ctx); err != nil {
		return Envelope{}, err
	}
	if len(w.tris) == 0 {
		return Envelope{}, fmt.Errorf("the moving part passes through no volume that %d cells would show", o.Resolution)
	}
	return w.envelope(ctx, coarse.volume())
}

const (
	// safe is how many times the change from half the resolution the regular
	// part of the error may be. It should be a third of it.
	safe = 2
	// sure is how many times its estimate the random part of the error may be.
	sure = 3
	// leastCells is how many cells the thinner side of the profile gets.
	leastCells = 8
)

// swath is one sweep at work.
type swath struct {
	plan
	rows  []row
	slabs []slab
	hit   []atomic.Bool // of each shell: some circle crosses it
	tell  func(done float64, what string)

	rowEnd, rowWall, slabWall []int32 // first vertices
	points                    []point
	tris                      [][3]int32
	skipped                   float64
}

// newSwath lays the grid. Chords keep within an eighth of a cell of their arcs.
func newSwath(s *surface, over kinematics.Range, resolution, least int) *swath {
	w := &swath{plan: plan{surface: s, grid: newGrid(s, resolution, least)}}
	w.motion = motion{lo: math.Mod(over.Lower, 2*math.Pi), width: over.Span()}
	w.upright = newUpright(s.rHi, max(w.dr, w.dz)/8)
	low := func(t int) (lo, hi float64) {
		v := s.tris[t]
		a, b, c := s.p[v[0]].Z, s.p[v[1]].Z, s.p[v[2]].Z
		return min(a, b, c), max(a, b, c)
	}
	w.rowTris = newBuckets(w.nz, len(s.tris), func(t int) (int, int) { return w.rowsWithin(low(t)) })
	w.slabTris = newBuckets(w.nz-1, len(s.tris), func(t int) (int, int) {
		from, to := w.rowsWithin(low(t))
		return max(0, from-1), min(w.nz-2, to)
	})
	w.hit = make([]atomic.Bool, len(s.open))
	return w
}

func (w *swath) run(ctx context.Context) error {
	samplers := newPool(func() *sampler { return &sampler{plan: &w.plan, hit: w.hit} })
	w.rows = make([]row, w.nz)
	err := each(ctx, w.nz, w.part(0, 0.4, w.nz, "cutting rows"), func(j int) {
		s := samplers.get()
		w.rows[j] = s.row(j)
		samplers.put(s)
	})
	if err != nil {
		return err
	}
	w.slabs = make([]slab, w.nz-1)
	err = each(ctx, w.nz-1, w.part(0.4, 0.6, w.nz-1, "joining rows"), func(j int) {
		s := samplers.get()
		w.slabs[j] = s.slab(j, &w.rows[j], &w.rows[j+1])
		samplers.put(s)
	})
	if err != nil {
		return err
	}
	w.place()
	return w.stitch(ctx)
}

// part returns a progress function for n items that take the share from..to.
func (w *swath) part(from, to float64, n int, what string) func(int) {
	if w.tell == nil {
		return nil
	}
	return func(done int) {
		if done%16 == 0 || done == n {
			w.tell(from+(to-from)*float64(done)/float64(n), what)
		}
	}
}

// place gives every vertex its number and its point: the ends of all rows,
// then the walls of all rows, then those of all slabs.
func (w *swath) place() {
	n := int32(0)
	for j := range w.rows {
		w.rowEnd = append(w.rowEnd, n)
		n += int32(len(w.rows[j].ends))
	}
	for j := range w.rows {
		w.rowWall = append(w.rowWall, n)
		n += int32(len(w.rows[j].points))
	}
	for j := range w.slabs {
		w.slabWall = append(w.slabWall, n)
		n += int32(len(w.slabs[j].points))
	}
	w.points = make([]point, 0, n)
	for j := range w.rows {
		r := &w.rows[j]
		for i := range w.nr {
			for _, a := range r.column(i).ends {
				w.points = append(w.points, point{w.r(i), a, w.z(j)})
			}
		}
	}
	for j := range w.rows {
		w.points = append(w.points, w.rows[j].points...)
	}
	for j := range w.slabs {
		w.points = append(w.points, w.slabs[j].points...)
	}
}

// stitch makes the triangles, slab by slab.
func (w *swath) stitch(ctx context.Context) error {
	parts := make([]stitcher, w.nz-1)
	err := each(ctx, w.nz-1, w.part(0.6, 0.8, w.nz-1, "making the surface"), func(j int) {
		s := stitcher{
			plan: &w.plan, low: &w.rows[j], high: &w.rows[j+1], slab: &w.slabs[j],
			lowEnd: w.rowEnd[j], highEnd: w.rowEnd[j+1],
			lowWall: w.rowWall[j], highWall: w.rowWall[j+1], midWall: w.slabWall[j], base: w.z(j),
		}
		s.vertex = func(id int32) point {
			if id < 0 {
				return s.extra[-id-1]
			}
			return w.points[id]
		}
		for i := range w.nr - 1 {
			s.prism(i)
		}
		s.visited, s.loop, s.rounds = [4][]bool{}, loop{}, nil
		parts[j] = s
	})
	if err != nil {
		return err
	}
	for j := range parts {
		s := &parts[j]
		base := int32(len(w.points))
		w.points = append(w.points, s.extra...)
		for _, t := range s.tris {
			for k, v := range t {
				if v < 0 {
					t[k] = base - v - 1
				}
			}
			w.tris = append(w.tris, t)
		}
		w.skipped += s.skipped
	}
	return nil
}

// envelope builds the mesh and measures it.
func (w *swath) envelope(ctx context.Context, coarse float64) (Envelope, error) {
	b := mesh.NewBuilder()
	b.Grow(len(w.points), len(w.tris), 3*len(w.tris))
	for _, p := range w.points {
		b.Vertex(w.frame.model(p.r, p.a, p.z))
	}
	for _, t := range w.tris {
		b.Face(t[0], t[1], t[2])
	}
	if w.tell != nil {
		w.tell(0.85, "building the mesh")
	}
	m, report, err := b.BuildContext(ctx, mesh.Options{Weld: -1})
	if err != nil {
		return Envelope{}, err
	}
	env := Envelope{Mesh: m, Volume: w.volume(), Area: m.Area(), Notes: w.notes()}
	if n := report.ZeroArea + report.Duplicate + report.NonFinite; n > 0 {
		env.Notes = append(env.Notes, fmt.Sprintf("%d faces of the envelope had no area and were left out, so that its mesh is not closed; another resolution may help.", n))
	}
	env.Error = safe*math.Abs(env.Volume-coarse) + sure*w.doubt()
	if w.tell != nil {
		w.tell(1, "building the mesh")
	}
	return env, nil
}

// notes says what the numbers do not.
func (w *swath) notes() []string {
	var notes []string
	switch n := w.numOpen; {
	case n == 1:
		notes = append(notes, "1 shell of the moving part is not closed and was swept as a sheet without an inside.")
	case n > 1:
		notes = append(notes, fmt.Sprintf("%d shells of the moving part are not closed and were swept as sheets without an inside.", n))
	}
	missed := 0
	for k := range w.hit {
		if !w.hit[k].Load() {
			missed++
		}
	}
	switch {
	case missed == 1:
		notes = append(notes, "1 shell of the moving part is smaller than a cell and was passed over; use a higher resolution.")
	case missed > 1:
		notes = append(notes, fmt.Sprintf("%d shells of the moving part are smaller than a cell and were passed over; use a higher resolution.", missed))
	}
	return notes
}
