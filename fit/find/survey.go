package find

import (
	"context"
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
	lines    []line // heaviest first
}

// survey looks at every part by itself.
func survey(ctx context.Context, parts []mesh.Part, o Options) (*work, error) {
	w := &work{parts: make([]part, len(parts)), opt: o}
	model := mesh.Model{}
	for _, p := range parts {
		if p.Mesh != nil {
			model.Parts = append(model.Parts, p)
		}
	}
	box := model.Bounds()
	w.diagonal = r3.Norm(r3.Sub(box.Max, box.Min))
	err := each(ctx, len(parts), func(i int) {
		w.parts[i], _ = newPart(ctx, parts[i]) // each reports cancellation
	}, func(done int) {
		o.progress(0.6*float64(done)/float64(len(parts)), "Looking for circles: part %d of %d", done, len(parts))
	})
	return w, err
}

func newPart(ctx context.Context, p mesh.Part) (part, error) {
	out := part{name: p.Name, mesh: p.Mesh}
	if p.Mesh == nil || len(p.Mesh.Triangles()) == 0 {
		return out, nil
	}
	p.Mesh.BVH()
	k := newLooker(ctx, p.Mesh)
	rings, err := k.circles()
	if err != nil {
		return out, err
	}
	out.diagonal = k.size
	out.lines = lines(rings, sameLineOffset*k.size)
	return out, nil
}

// each calls do for 0 to n-1 on two goroutines and tells how many are done.
func each(ctx context.Context, n int, do func(i int), told func(done int)) error {
	var (
		mu         sync.Mutex
		next, done int
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
				told(done)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

const workers = 4
