package sweep

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// grid places circles about the hinge: node (i, j) is the circle of radius
// r(i) at height z(j). The outermost nodes lie outside the body; the innermost
// too, unless the body comes near the hinge: then r(0) is 0.
type grid struct {
	nr, nz int     // nodes
	r0, dr float64 // first node and width of a cell without extra nodes
	z0, dz float64
	rs, zs ticks
}

// newGrid puts resolution cells across the larger side of the profile, the
// rectangle in radius and height that the surface fills, and at least a few
// across the thinner side. Walls and plates that are thinner than a cell get
// nodes of their own.
func newGrid(s *surface, resolution, least int) grid {
	size := max(s.rHi-s.rLo, s.zHi-s.zLo)
	cells := func(length float64) int {
		return max(least, int(math.Ceil(length/size*float64(resolution)-1e-9)))
	}
	thick := func(length float64) float64 { return max(length, 1e-6*size) }
	nr, nz := cells(s.rHi-s.rLo), cells(s.zHi-s.zLo)
	g := grid{nr: nr + 2, nz: nz + 2}
	g.dz = thick(s.zHi-s.zLo) / float64(nz)
	g.z0 = s.zLo - g.dz/2
	g.dr = thick(s.rHi-s.rLo) / float64(nr)
	g.r0 = s.rLo - g.dr/2
	if g.r0 <= 0 && !s.straight {
		g.r0 = 0
		g.dr = s.rHi / (float64(nr) + 0.5)
	}
	radii, heights := s.levels()
	g.rs = between(g.nr, g.r0, g.dr, radii, g.dr*g.dz)
	g.zs = between(g.nz, g.z0, g.dz, heights, g.dr*g.dz)
	g.nr, g.nz = max(g.nr, len(g.rs.at)), max(g.nz, len(g.zs.at))
	return g
}

func (g *grid) r(i int) float64 { return g.rs.place(i, g.r0, g.dr) }
func (g *grid) z(j int) float64 { return g.zs.place(j, g.z0, g.dz) }

// wide returns how far node i+1 is from node i, high node j+1 from node j.
func (g *grid) wide(i int) float64 { return g.r(i+1) - g.r(i) }
func (g *grid) high(j int) float64 { return g.z(j+1) - g.z(j) }

// columnsWithin returns the nodes i with lo <= r(i) <= hi, one more either way
// where rounding could tell.
func (g *grid) columnsWithin(lo, hi float64) (from, to int) {
	return g.rs.within(lo, hi, g.nr, g.r0, g.dr)
}

// rowsWithin is columnsWithin for heights.
func (g *grid) rowsWithin(lo, hi float64) (from, to int) {
	return g.zs.within(lo, hi, g.nz, g.z0, g.dz)
}

// buckets lists items by key, flat.
type buckets struct {
	start []int32
	items []int32
}

func (b *buckets) of(k int) []int32 { return b.items[b.start[k]:b.start[k+1]] }

// newBuckets files n items under every key of their ranges, in item order.
func newBuckets(keys, n int, within func(item int) (from, to int)) buckets {
	b := buckets{start: make([]int32, keys+2)}
	for t := range n {
		from, to := within(t)
		for k := from; k <= to; k++ {
			b.start[k+2]++
		}
	}
	for k := 2; k < len(b.start); k++ {
		b.start[k] += b.start[k-1]
	}
	b.items = make([]int32, b.start[keys+1])
	for t := range n {
		from, to := within(t)
		for k := from; k <= to; k++ {
			b.items[b.start[k+1]] = int32(t)
			b.start[k+1]++
		}
	}
	b.start = b.start[:keys+1]
	return b
}

// each calls do for 0 to n-1 on all cores. Every call must write to places of
// its own only, so that the outcome does not depend on their order. tell, if
// not nil, hears how many are done, from one goroutine at a time. It stops early
// when ctx ends.
func each(ctx context.Context, n int, tell func(done int), do func(i int)) error {
	workers := max(1, min(runtime.GOMAXPROCS(0), n))
	var next, done atomic.Int64
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				do(i)
				if d := done.Add(1); w == 0 && tell != nil {
					tell(int(d))
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	if tell != nil {
		tell(n)
	}
	return nil
}

// pool lends out workspaces, so that each goroutine finds its buffers grown.
type pool[T any] struct {
	mu   sync.Mutex
	free []*T
	make func() *T
}

func newPool[T any](make func() *T) *pool[T] { return &pool[T]{make: make} }

func (p *pool[T]) get() *T {
	p.mu.Lock()
	defer p.mu.Unlock()
	if n := len(p.free); n > 0 {
		x := p.free[n-1]
		p.free = p.free[:n-1]
		return x
	}
	return p.make()
}

func (p *pool[T]) put(x *T) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.free = append(p.free, x)
}
