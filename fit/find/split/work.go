package split

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find"
	"pintle/fit/mesh"
)

const (
	mostLarge = 1500  // shells that are compared in pairs; smaller ones go with what is nearest
	small     = 0.15  // of another shell's diagonal: what is smaller sits on it
	near      = 0.01  // of the model's diagonal, within which shells may belong together
	touch     = 0.006 // of the smaller shell's diagonal
	play      = 0.03  // of the smaller shell's diagonal, the widest gap of a strong joint
	sure      = 0.5   // confidence of a joint
	slipping  = 0.85  // share of the mating faces that a joint's motion leaves in contact
	rival     = 0.5   // of the best axis's score, that a second one has which holds the pair
)

// work is a mesh being grouped.
type work struct {
	opt      Options
	diagonal float64
	shell    []shell
	set      set      // of shells
	apart    [][2]int // shells between which there is a joint
}

type shell struct {
	mesh     *mesh.Mesh
	diagonal float64
}

func newWork(m *mesh.Mesh, label []int32, n int, o Options) *work {
	w := &work{opt: o, diagonal: m.Diagonal(), shell: make([]shell, n), set: newSet(n)}
	count := make([]int, n)
	for _, s := range label {
		count[s]++
	}
	tris := make([][]int32, n)
	for t, s := range label {
		if tris[s] == nil {
			tris[s] = make([]int32, 0, count[s])
		}
		tris[s] = append(tris[s], int32(t))
	}
	if n == 1 {
		w.shell[0] = shell{m, m.Diagonal()}
		return w
	}
	for i, x := range mesh.Pieces(m, tris) {
		w.shell[i] = shell{x, x.Diagonal()}
	}
	return w
}

func (w *work) run(ctx context.Context) error {
	if len(w.shell) < 2 {
		return ctx.Err()
	}
	large, err := w.attach(ctx)
	if err != nil {
		return err
	}
	parts := make([]mesh.Part, len(large))
	for i, s := range large {
		parts[i].Mesh = w.shell[s].mesh
	}
	w.opt.progress(0.3, "Comparing %d shells", len(large))
	pairs, err := find.Pairs(ctx, parts, find.Options{Near: near, Progress: func(done float64, what string) {
		w.opt.progress(0.3+0.6*done, "%s", what)
	}})
	if err != nil {
		return err
	}
	w.group(large, pairs)
	w.opt.progress(1, "Done")
	return nil
}

// attach joins small shells with what they sit on, and those inside of another
// with it. It returns the other shells, in their order.
func (w *work) attach(ctx context.Context) ([]int, error) {
	bySize := make([]int, len(w.shell))
	for i := range bySize {
		bySize[i] = i
	}
	slices.SortStableFunc(bySize, func(a, b int) int { return cmp.Compare(w.shell[b].diagonal, w.shell[a].diagonal) })
	var large []int
	for k, i := range bySize {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if k%64 == 0 {
			w.opt.progress(0.3*float64(k)/float64(len(bySize)), "Looking at shell %d of %d", k+1, len(bySize))
		}
		holder, ok := w.holder(i, large, len(large) >= mostLarge)
		if !ok {
			if len(large) < mostLarge {
				large = append(large, i)
			}
			continue
		}
		w.set.join(i, holder)
	}
	slices.Sort(large)
	return large, nil
}

// holder is the shell among larger ones, largest first, that i sits on or in:
// the nearest one, if it is much larger. With any it may be of any size.
func (w *work) holder(i int, larger []int, any bool) (int, bool) {
	best, least := -1, math.Inf(1)
	x := w.shell[i]
	limit := min(near*w.diagonal, x.diagonal)
	for _, k := range larger {
		y := w.shell[k]
		if mesh.BoxGap(x.mesh, y.mesh) > min(limit, least) {
			continue
		}
		if inside(x.mesh, y.mesh) { // the smallest that holds it comes last
			best, least = k, 0
			continue
		}
		gap, ok := mesh.Distance(x.mesh.BVH(), y.mesh.BVH(), mesh.Identity(), limit)
		if ok && gap.Distance < least-1e-6*w.diagonal {
			best, least = -1, gap.Distance
			if any || x.diagonal < small*y.diagonal {
				best = k
			}
		}
	}
	return best, best >= 0
}

const insideSamples = 64

// inside reports whether a lies inside closed b without meeting it.
func inside(a, b *mesh.Mesh) bool {
	if !contains(b.Bounds(), a.Bounds()) || !b.IsClosed() {
		return false
	}
	v := a.Vertices()
	for k := 0; k < len(v); k += max(1, len(v)/insideSamples) {
		if d, _, _ := b.BVH().SignedDistance(v[k]); d >= 0 {
			return false
		}
	}
	return true
}

func contains(outer, in r3.Box) bool {
	return outer.Min.X <= in.Min.X && outer.Min.Y <= in.Min.Y && outer.Min.Z <= in.Min.Z &&
		outer.Max.X >= in.Max.X && outer.Max.Y >= in.Max.Y && outer.Max.Z >= in.Max.Z
}
