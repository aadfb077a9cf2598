package find

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// work is a model being looked at.
type work struct {
	parts    []part
	opt      Options
	diagonal float64 // of the model
}

// part is a mesh with the lines that its circles stand about.
type part struct {
	name     string
	mesh     *mesh.Mesh
	diagonal float64
	noise    float64  // standard deviation of its vertices, per coordinate; 0 for next to none
	lines    []line   // heaviest first
	spheres  []sphere // largest area first
}

// survey looks at every part by itself, the largest first.
func survey(ctx context.Context, parts []mesh.Part, o Options) (*work, error) {
	w := &work{parts: make([]part, len(parts)), opt: o}
	model := mesh.Model{}
	order, size := make([]int, len(parts)), make([]int, len(parts))
	for i, p := range parts {
		order[i] = i
		if p.Mesh != nil {
			size[i] = len(p.Mesh.Triangles())
			model.Parts = append(model.Parts, p)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(size[b], size[a]) })
	box := model.Bounds()
	w.diagonal = r3.Norm(r3.Sub(box.Max, box.Min))
	t := newGauge(o, size)
	err := each(ctx, len(parts), func(i int) {
		w.parts[order[i]], _ = newPart(ctx, parts[order[i]], func(share float64, what string) { // each reports cancellation
			if ctx.Err() == nil {
				t.tell(order[i], share, parts[order[i]].Name, what)
			}
		})
	}, func(done int) {})
	return w, err
}

// surveyed is the share of the work that the parts by themselves are.
const surveyed = 0.6

// gauge adds up how far the parts are.
type gauge struct {
	opt    Options
	mu     sync.Mutex
	weight []float64 // of each part, in all 1
	share  []float64 // done of each
	told   float64
}

func newGauge(o Options, size []int) *gauge {
	t := &gauge{opt: o, weight: make([]float64, len(size)), share: make([]float64, len(size))}
	all := 0.0
	for _, n := range size {
		all += float64(1 + n)
	}
	for i, n := range size {
		t.weight[i] = float64(1+n) / all
	}
	return t
}

func (t *gauge) tell(part int, share float64, name, what string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.share[part] = share
	done := 0.0
	for i, s := range t.share {
		done += t.weight[i] * s
	}
	t.told = max(t.told, surveyed*min(done, 1))
	t.opt.progress(t.told, "%s: %s", name, what)
}

// newPart looks at one part; told hears what it is doing and how far it is.
func newPart(ctx context.Context, p mesh.Part, told func(share float64, what string)) (part, error) {
	out := part{name: p.Name, mesh: p.Mesh}
	if p.Mesh == nil || len(p.Mesh.Triangles()) == 0 {
		return out, nil
	}
	told(0, "joining edges")
	k := newLooker(ctx, p.Mesh)
	rings, err := k.circles(told)
	if err != nil {
		return out, err
	}
	told(0.8, "sorting boxes")
	p.Mesh.BVH()
	out.diagonal, out.noise = k.size, k.sigma
	out.lines = lines(rings, sameLineOffset*k.size)
	if bolts := boltCircles(out.lines); len(bolts) > 0 {
		rings = append(rings, bolts...)
		slices.SortStableFunc(rings, func(a, b ring) int { return compare(b.weight(), a.weight()) })
		out.lines = lines(rings, sameLineOffset*k.size)
	}
	out.spheres = k.balls
	told(1, "done")
	return out, nil
}

// each calls do for 0 to n-1 on some goroutines and tells how many are done. On
// cancellation it returns at once; calls under way end by themselves and are
// told of no more.
func each(ctx context.Context, n int, do func(i int), told func(done int)) error {
	var (
		mu         sync.Mutex
		next, done int
		over       bool
		wg         sync.WaitGroup
	)
	for range min(n, workers) {
		wg.Go(func() {
			for {
				mu.Lock()
				i := next
				next++
				mu.Unlock()
				if i >= n || ctx.Err() != nil {
					return
				}
				do(i)
				mu.Lock()
				done++
				if !over {
					told(done)
				}
				mu.Unlock()
			}
		})
	}
	ended := make(chan struct{})
	go func() {
		wg.Wait()
		close(ended)
	}()
	select {
	case <-ended:
	case <-ctx.Done():
	}
	mu.Lock()
	defer mu.Unlock()
	over = true
	return ctx.Err()
}

const workers = 4
