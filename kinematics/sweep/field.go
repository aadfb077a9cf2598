package sweep

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// field finds the least distance of a drift's part from the places of a grid,
// by branch and bound on cubes of the grid and boxes of joint values together:
// values at which the part stays farther from a cube of places than at others
// are not looked at again inside the cube.
type field struct {
	drift
	body   *sampled
	origin r3.Vec
	step   float64
	n      [3]int
	value  []float32 // exact where below a step; far or -far where surely beyond
}

const (
	// far is the value of nodes that surely lie outside, -far inside.
	far = math.MaxFloat32
	// mostNodes bounds the grid; a node takes four bytes.
	mostNodes = 1 << 28
	// chunkSide is the nodes along the side of the largest cubes.
	chunkSide = 16
)

// newField lays the grid. It fails where the drift's extent is not finite and
// where the grid would take too much memory.
func newField(d drift, m *matter, resolution int) (*field, error) {
	b := d.box(m.mesh.Bounds())
	size := r3.Sub(b.Max, b.Min)
	long := max(size.X, size.Y, size.Z)
	if !(long > 0) || math.IsInf(long, 0) {
		return nil, fmt.Errorf("the moving part has no extent, or one too large, to be swept")
	}
	f := &field{drift: d, step: long / float64(resolution)}
	nodes := 1.0
	for k, length := range [3]float64{size.X, size.Y, size.Z} {
		f.n[k] = int(math.Ceil(length/f.step)) + 4
		nodes *= float64(f.n[k])
	}
	if nodes > mostNodes {
		most := int(float64(resolution) * math.Cbrt(mostNodes/nodes))
		return nil, fmt.Errorf("%d cells along the envelope are too many for a screw or a swing here; ask for %d at most", resolution, most)
	}
	// Off the box, so that faces along it lie between nodes.
	f.origin = r3.Sub(b.Min, r3.Scale(f.step, r3.Vec{X: 1.37, Y: 1.43, Z: 1.39}))
	f.value = make([]float32, f.n[0]*f.n[1]*f.n[2])
	return f, nil
}

func (f *field) node(i, j, k int) int { return (k*f.n[1]+j)*f.n[0] + i }

// at returns a place of the grid; half nodes are allowed.
func (f *field) at(i, j, k float64) r3.Vec {
	return r3.Add(f.origin, r3.Scale(f.step, r3.Vec{X: i, Y: j, Z: k}))
}

// measure samples the part, about as finely as the grid.
func (f *field) measure(ctx context.Context, m *matter) error {
	thick := 0.0
	if m.numOpen > 0 {
		thick = f.step
	}
	b := m.mesh.Bounds()
	size := r3.Sub(b.Max, b.Min)
	const most = 96
	var err error
	f.body, err = newSampled(ctx, m, max(f.step, max(size.X, size.Y, size.Z)/most), thick)
	return err
}

// fill works out the values. It returns how much lower than its value the true
// least distance of a node near the surface may be.
func (f *field) fill(ctx context.Context, tell func(done float64)) (slack float64, err error) {
	for i := range f.value {
		f.value[i] = far
	}
	var n [3]int
	for k := range n {
		n[k] = (f.n[k] + chunkSide - 1) / chunkSide
	}
	all := n[0] * n[1] * n[2]
	slacks := make([]float64, all)
	seekers := newPool(func() *seeker { return &seeker{field: f, ctx: ctx} })
	err = each(ctx, all, func(done int) { tell(float64(done) / float64(all)) }, func(c int) {
		s := seekers.get()
		s.slack = 0
		s.list = append(s.list[:0], f.trial(f.whole(), f.joint.Cone == nil))
		s.cube([3]int{c % n[0] * chunkSide, c / n[0] % n[1] * chunkSide, c / n[0] / n[1] * chunkSide}, chunkSide, 0)
		slacks[c] = s.slack
		seekers.put(s)
	})
	for _, s := range slacks {
		slack = max(slack, s)
	}
	return slack, err
}

// seeker works through cubes; it is used by one goroutine at a time.
type seeker struct {
	*field
	ctx   context.Context
	list  []trial // those of the present cube last, after those of the cubes around it
	slack float64
}

// cube works out the nodes of the cube whose first node is o and whose side has
// the given nodes. The trials that matter in it are those of the list from the
// given place on.
func (s *seeker) cube(o [3]int, side, from int) {
	if o[0] >= s.n[0] || o[1] >= s.n[1] || o[2] >= s.n[2] || s.ctx.Err() != nil {
		return
	}
	half := float64(side-1) / 2
	middle := s.at(float64(o[0])+half, float64(o[1])+half, float64(o[2])+half)
	reach := math.Sqrt(3) * half * s.step
	rate := s.rate(middle)
	to := len(s.list)
	least, lowest := s.refine(from, to, middle, rate, s.fineness(side, reach))
	// A node within a step of the surface must get its value.
	switch {
	case lowest > reach+s.step:
	case least < -(reach + s.step):
		s.set(o, side, -far)
	case side == 1:
		s.settle(o, to)
	default:
		s.keep(to, least+2*reach)
		h := side / 2
		for c := range 8 {
			s.cube([3]int{o[0] + c&1*h, o[1] + c>>1&1*h, o[2] + c>>2*h}, h, to)
		}
	}
	s.list = s.list[:to]
}

// fineness is how far the part may move within a trial that is kept.
func (s *seeker) fineness(side int, reach float64) float64 {
	fine := 0.35 * s.step
	if len(s.values) > 1 {
		fine = 1.5 * s.step
	}
	return max(fine, reach/4) // what the eight cubes within need
}

// refine appends to the list what becomes of its trials from..to when they are
// divided until the part moves no farther than fine within each. It returns an
// upper bound of the least distance from the place and the lower bound of all.
func (s *seeker) refine(from, to int, place r3.Vec, rate [dims]float64, fine float64) (least, lowest float64) {
	least, lowest = math.Inf(1), math.Inf(1)
	var stack [128]branch
	for k := from; k < to; k++ {
		t := s.list[k]
		top := 0
		for {
			low, high := s.body.bound(t.back.Apply(place))
			move := t.off[0]*rate[0] + t.off[1]*rate[1]
			least = min(least, high)
			t.low = low - move
			// What is surely farther than the least needs no division.
			if move > fine && t.low < least && top+2 <= len(stack) {
				a, b := t.split(rate)
				stack[top], stack[top+1] = branch{a, t.free}, branch{b, t.free}
				top += 2
			} else {
				lowest = min(lowest, t.low)
				s.list = append(s.list, t)
			}
			if t, top = s.pop(&stack, top); top < 0 {
				break
			}
		}
	}
	return least, lowest
}

// branch is a piece that waits to be tried.
type branch struct {
	piece
	free bool // all its values are admissible
}

// pop returns a trial of the topmost branch that has admissible values, and the
// branches left, -1 where there was none.
func (s *seeker) pop(stack *[128]branch, top int) (trial, int) {
	for top--; top >= 0; top-- {
		b := &stack[top]
		some, free := true, true
		if !b.free {
			some, free = s.meets(b.piece)
		}
		if some {
			return s.trial(b.piece, free), top
		}
	}
	return trial{}, -1
}

// keep drops the trials from a place of the list on that stay farther than the
// limit.
func (s *seeker) keep(from int, limit float64) {
	n := from
	for k := from; k < len(s.list); k++ {
		if s.list[k].low <= limit {
			s.list[n] = s.list[k]
			n++
		}
	}
	s.list = s.list[:n]
}

func (s *seeker) set(o [3]int, side int, v float32) {
	for k := o[2]; k < min(o[2]+side, s.n[2]); k++ {
		for j := o[1]; j < min(o[1]+side, s.n[1]); j++ {
			for i := o[0]; i < min(o[0]+side, s.n[0]); i++ {
				s.value[s.node(i, j, k)] = v
			}
		}
	}
}

// settle gives a node its value: from the trial that looks best and from the
// values about it that look better still.
func (s *seeker) settle(o [3]int, from int) {
	p := s.at(float64(o[0]), float64(o[1]), float64(o[2]))
	best, value := -1, math.Inf(1)
	lowest := math.Inf(1)
	for k := from; k < len(s.list); k++ {
		t := &s.list[k]
		lowest = min(lowest, t.low)
		if t.low > value {
			continue
		}
		if v := s.body.smooth(t.back.Apply(p)); v < value {
			best, value = k, v
		}
	}
	t := s.list[best]
	d := s.body.exact(t.back.Apply(p))
	at := s.descend(p, t.at, t.off, value)
	if at != t.at {
		d = min(d, s.body.exact(s.back(at).Apply(p)))
	}
	s.value[s.node(o[0], o[1], o[2])] = float32(d)
	if math.Abs(d) <= 2*s.step {
		s.slack = max(s.slack, d-lowest)
	}
}

// descend returns values near the given ones at which the part looks nearer to
// p, by a few steps along parabolas through three values each.
func (s *seeker) descend(p r3.Vec, at, width [dims]float64, value float64) [dims]float64 {
	look := func(at [dims]float64) ([dims]float64, float64) {
		for k, r := range s.values {
			at[k] = r.Clamp(at[k])
		}
		if s.joint.Cone != nil {
			s.joint.Clamp(at[:len(s.values)])
		}
		return at, s.body.smooth(s.back(at).Apply(p))
	}
	for range 3 {
		for k := range s.values {
			w := width[k]
			if w == 0 {
				continue
			}
			a, b := at, at
			a[k], b[k] = at[k]-w, at[k]+w
			a, va := look(a)
			b, vb := look(b)
			x, vx := at, value
			if va < vx {
				x, vx = a, va
			}
			if vb < vx {
				x, vx = b, vb
			}
			if bend := va + vb - 2*value; bend > 0 && at[k]-a[k] == b[k]-at[k] {
				c := at
				c[k] += w * max(-1, min(1, (va-vb)/(2*bend)))
				if c, vc := look(c); vc < vx {
					x, vx = c, vc
				}
			}
			at, value = x, vx
			width[k] = w * 0.4
		}
	}
	return at
}
