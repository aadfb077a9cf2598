package sweep

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
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

// measure samples the part, a little more finely than the grid.
func (f *field) measure(ctx context.Context, m *matter) error {
	thick := 0.0
	if m.numOpen > 0 {
		thick = f.step
	}
	b := m.mesh.Bounds()
	size := r3.Sub(b.Max, b.Min)
	const most = 128
	var err error
	f.body, err = newSampled(ctx, m, max(0.7*f.step, max(size.X, size.Y, size.Z)/most), thick)
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
		s.trials = append(s.trials[:0], f.trial(f.whole(), f.joint.Cone == nil))
		s.list = append(s.list[:0], held{})
		s.cube([3]int{c % n[0] * chunkSide, c / n[0] % n[1] * chunkSide, c / n[0] / n[1] * chunkSide}, chunkSide, 0)
		slacks[c] = s.slack
		seekers.put(s)
	})
	for _, s := range slacks {
		slack = max(slack, s)
	}
	f.clearRim()
	return slack, err
}

// clearRim sees to it that the outermost nodes, which stand off the box that
// holds the part at all values, lie outside whatever rounding said: the surface
// closes within the grid.
func (f *field) clearRim() {
	for n := range f.value {
		i, j, k := n%f.n[0], n/f.n[0]%f.n[1], n/(f.n[0]*f.n[1])
		if f.value[n] < 0 && (i == 0 || j == 0 || k == 0 || i == f.n[0]-1 || j == f.n[1]-1 || k == f.n[2]-1) {
			f.value[n] = far
		}
	}
}

// seeker works through cubes; it is used by one goroutine at a time.
type seeker struct {
	*field
	ctx context.Context
	// Those of the present cube come last, after those of the cubes around it.
	trials []trial
	list   []held
	slack  float64
}

// held is a trial that matters in a cube.
type held struct {
	trial int32
	low   float64 // bound of the distance from the cube's middle over the piece
	value float64 // about the distance from there at the trial's own values
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
	to, made := len(s.list), len(s.trials)
	least, lowest := s.refine(from, to, middle, s.fineness(reach))
	// A node within a step of the surface must get its value.
	switch {
	case lowest > reach+s.step:
	case least < -(reach + s.step):
		s.set(o, side, -far)
	default:
		if side <= 4 {
			least = min(least, s.sharper(to, middle))
		}
		s.keep(to, least+2*reach)
		h := side / 2
		if side == 2 {
			s.rank(to, middle)
		}
		for c := range 8 {
			p := [3]int{o[0] + c&1*h, o[1] + c>>1&1*h, o[2] + c>>2*h}
			if side > 2 {
				s.cube(p, h, to)
			} else {
				s.settle(p, to, reach)
			}
		}
	}
	s.list, s.trials = s.list[:to], s.trials[:made]
}

// fineness is how far the part may move within a trial that is kept in a cube:
// fine enough for all cubes within it, too.
func (s *seeker) fineness(reach float64) float64 {
	fine := 0.5 * s.step
	if len(s.values) > 1 {
		fine = 2 * s.step // there are as many as the square of its inverse
	}
	return max(fine, reach/4)
}

// refine appends to the list what becomes of its trials from..to when they are
// divided until the part moves no farther than fine within each. It returns an
// upper bound of the least distance from the place and the lower bound of all.
func (s *seeker) refine(from, to int, place r3.Vec, fine float64) (least, lowest float64) {
	rate := s.rate(place)
	least, lowest = math.Inf(1), math.Inf(1)
	var stack [128]branch
	for k := from; k < to; k++ {
		at := s.list[k].trial
		for top := 0; ; at = int32(len(s.trials) - 1) {
			t := &s.trials[at]
			low, high := s.body.bound(seen(&t.back, place))
			move := t.off[0]*rate[0] + t.off[1]*rate[1]
			least = min(least, high)
			value := (low + high) / 2
			low -= move
			// What is surely farther than the least needs no division.
			if move > fine && low < least && top+2 <= len(stack) {
				a, b := t.split(rate)
				stack[top], stack[top+1] = branch{a, t.free}, branch{b, t.free}
				top += 2
			} else {
				lowest = min(lowest, low)
				s.list = append(s.list, held{at, low, value})
			}
			if top = s.try(&stack, top); top < 0 {
				break
			}
		}
	}
	return least, lowest
}

// seen returns the place as the part sees it.
func seen(back *kinematics.Transform, p r3.Vec) r3.Vec {
	return r3.Vec{
		X: back.X.X*p.X + back.Y.X*p.Y + back.Z.X*p.Z + back.T.X,
		Y: back.X.Y*p.X + back.Y.Y*p.Y + back.Z.Y*p.Z + back.T.Y,
		Z: back.X.Z*p.X + back.Y.Z*p.Y + back.Z.Z*p.Z + back.T.Z,
	}
}

// branch is a piece that waits to be tried.
type branch struct {
	piece
	free bool // all its values are admissible
}

// try makes a trial of the topmost branch that has admissible values. It returns
// how many branches are left, -1 where there was none.
func (s *seeker) try(stack *[128]branch, top int) int {
	for top--; top >= 0; top-- {
		b := &stack[top]
		some, free := true, true
		if !b.free {
			some, free = s.meets(b.piece)
		}
		if some {
			s.trials = append(s.trials, s.trial(b.piece, free))
			return top
		}
	}
	return -1
}

// sharper returns the distance of the part from the place at the values, of
// those of the list from a place on, that look nearest.
func (s *seeker) sharper(from int, place r3.Vec) float64 {
	best := from
	for k := from; k < len(s.list); k++ {
		if s.list[k].value < s.list[best].value {
			best = k
		}
	}
	return s.body.exact(seen(&s.trials[s.list[best].trial].back, place))
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

// rank sorts the list from a place on by how near the part looks.
func (s *seeker) rank(from int, place r3.Vec) {
	list := s.list[from:]
	for k := range list {
		list[k].value = s.body.smooth(seen(&s.trials[list[k].trial].back, place))
	}
	slices.SortFunc(list, func(a, b held) int {
		return cmp.Or(cmp.Compare(a.value, b.value), cmp.Compare(a.trial, b.trial))
	})
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
// values about it that look better still. The list from the given place on is
// ranked for the middle of a cube, of which the node is within reach.
func (s *seeker) settle(o [3]int, from int, reach float64) {
	if o[0] >= s.n[0] || o[1] >= s.n[1] || o[2] >= s.n[2] {
		return
	}
	p := s.at(float64(o[0]), float64(o[1]), float64(o[2]))
	var best *trial
	value := math.Inf(1)
	for _, h := range s.list[from:] {
		if h.value-reach > value {
			continue
		}
		t := &s.trials[h.trial]
		if v := s.body.smooth(seen(&t.back, p)); v < value {
			best, value = t, v
		}
	}
	node := &s.value[s.node(o[0], o[1], o[2])]
	// What looks far is, by as much as the look may be wrong.
	doubt := s.step + s.body.step
	switch {
	case value > 2*s.step+doubt:
		return
	case value < -s.step-doubt:
		*node = -far
		return
	}
	d := s.body.exact(seen(&best.back, p))
	if at := s.descend(p, best.at, best.off, value); at != best.at {
		back := s.back(at)
		d = min(d, s.body.exact(seen(&back, p)))
	}
	*node = float32(d)
	if math.Abs(d) <= s.step {
		s.doubt(p, d, from, reach)
	}
}

// doubt notes how much lower than d the least distance from p may be.
func (s *seeker) doubt(p r3.Vec, d float64, from int, reach float64) {
	rate := s.rate(p)
	for _, h := range s.list[from:] {
		if d-(h.low-reach) <= s.slack {
			continue
		}
		t := &s.trials[h.trial]
		low, _ := s.body.bound(seen(&t.back, p))
		low = max(low-t.off[0]*rate[0]-t.off[1]*rate[1], h.low-reach)
		s.slack = max(s.slack, d-low)
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
		back := s.back(at)
		return at, s.body.smooth(seen(&back, p))
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
