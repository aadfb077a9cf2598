package sweep

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"

	"pintle/fit/mesh"
)

// swath is one sweep at work.
type swath struct {
	plan
	rows  []row
	slabs []slab
	rough bool          // nobody asks for the deviation
	bare  bool          // nor for anything but the volume
	sag   float64       // most that chords stray from arcs along walls
	hit   []atomic.Bool // of each shell: some circle crosses it
	tell  func(done float64, what string)

	rowEnd, rowWall, slabWall []int32 // first vertices
	points                    []point
	tris                      [][3]int32
	skipped                   float64
}

// newSwath lays the grid. Chords keep within the share of a cell of their arcs.
func newSwath(s *surface, m motion, resolution, least int, share float64) *swath {
	w := &swath{plan: plan{surface: s, grid: newGrid(s, resolution, least), motion: m}}
	w.sag = share * max(w.dr, w.dz)
	w.upright = newUpright(s.rHi, w.sag)
	if s.straight {
		w.sag = 0
		w.upright = upright{spacing: 16 * s.scale * max(w.dr, w.dz), straight: true}
	}
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
			lowWall: w.rowWall[j], highWall: w.rowWall[j+1], midWall: w.slabWall[j], base: w.z(j), rise: w.high(j),
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

// solid builds the mesh and measures it.
func (w *swath) solid(ctx context.Context) (solid, error) {
	if w.bare {
		return solid{volume: w.volume()}, nil
	}
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
		return solid{}, err
	}
	out := solid{mesh: m, volume: w.volume(), doubt: w.doubt(), sag: w.sag, notes: w.notes()}
	if n := report.ZeroArea + report.Duplicate + report.NonFinite; n > 0 {
		out.notes = append(out.notes, fmt.Sprintf("%d faces of the envelope had no area and were left out, so that its mesh is not closed; another resolution may help.", n))
	}
	out.deviation, err = w.deviation(ctx, m)
	if err != nil {
		return solid{}, err
	}
	if most := 3*math.Hypot(w.dr, w.dz) + 4*w.sag; out.deviation > most {
		out.notes = append(out.notes, w.missed()...)
		out.notes = append(out.notes, fmt.Sprintf("Something thinner than a cell of %.3g was passed over in part; it may stick out of the envelope by %.3g. Use a higher resolution.", max(w.dr, w.dz), out.deviation))
	}
	if w.tell != nil {
		w.tell(1, "building the mesh")
	}
	return out, nil
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
	return notes
}

// missed says how many shells no circle crosses. Some of these may count all
// the same: a wall all round lies between its faces.
func (w *swath) missed() []string {
	missed := 0
	for k := range w.hit {
		if !w.hit[k].Load() {
			missed++
		}
	}
	switch missed {
	case 0:
		return nil
	case 1:
		return []string{"1 shell of the moving part is smaller than a cell and was passed over; use a higher resolution."}
	}
	return []string{fmt.Sprintf("%d shells of the moving part are smaller than a cell and were passed over; use a higher resolution.", missed)}
}
