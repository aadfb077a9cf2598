package sweep

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// sampled is the signed distance of matter on a grid, exact near the surface
// and within a known error elsewhere. Single precision is enough: it chooses,
// and bounds with a margin; answers come from the matter itself.
type sampled struct {
	*matter
	thick   float64 // of sheets
	origin  r3.Vec
	step    float64
	inverse float64 // of step
	n       [3]int
	value   []float32
	err     []float32
	bounds  r3.Box
}

// block is the side of the blocks of nodes that are looked at together.
const block = 4

// newSampled samples matter on cubes of the given step.
func newSampled(ctx context.Context, m *matter, step, thick float64) (*sampled, error) {
	s := &sampled{matter: m, thick: thick, step: step, inverse: 1 / step, bounds: m.mesh.Bounds()}
	size := r3.Sub(s.bounds.Max, s.bounds.Min)
	var blocks [3]int
	for k, length := range [3]float64{size.X, size.Y, size.Z} {
		blocks[k] = int(math.Ceil((length/step+3)/block)) + 1
		s.n[k] = blocks[k] * block
	}
	s.origin = r3.Sub(s.bounds.Min, r3.Vec{X: 1.5 * step, Y: 1.5 * step, Z: 1.5 * step})
	s.value = make([]float32, s.n[0]*s.n[1]*s.n[2])
	s.err = make([]float32, len(s.value))
	err := each(ctx, blocks[0]*blocks[1]*blocks[2], nil, func(k int) {
		s.block(k%blocks[0], k/blocks[0]%blocks[1], k/blocks[0]/blocks[1])
	})
	return s, err
}

func (s *sampled) node(i, j, k int) int { return (k*s.n[1]+j)*s.n[0] + i }

func (s *sampled) at(i, j, k int) r3.Vec {
	return r3.Add(s.origin, r3.Scale(s.step, r3.Vec{X: float64(i), Y: float64(j), Z: float64(k)}))
}

// block fills a block of nodes: from its middle where that is far from the
// surface, else node by node.
func (s *sampled) block(bi, bj, bk int) {
	i0, j0, k0 := bi*block, bj*block, bk*block
	middle := r3.Add(s.at(i0, j0, k0), r3.Scale((block-1)/2.0*s.step, r3.Vec{X: 1, Y: 1, Z: 1}))
	d := s.signed(middle, s.thick)
	reach := s.step * math.Sqrt(3) * (block - 1) / 2
	far := math.Abs(d) > 2*reach+2*s.step
	for k := k0; k < k0+block; k++ {
		for j := j0; j < j0+block; j++ {
			for i := i0; i < i0+block; i++ {
				n, p := s.node(i, j, k), s.at(i, j, k)
				if far {
					s.value[n], s.err[n] = float32(d), float32(r3.Norm(r3.Sub(p, middle)))
				} else {
					s.value[n] = float32(s.signed(p, s.thick))
				}
			}
		}
	}
}

// near returns a value that the distance of p is close to, and how close: a
// distance changes by no more than the way between two points.
func (s *sampled) near(p r3.Vec) (value, within float64) {
	x, y, z := (p.X-s.origin.X)*s.inverse, (p.Y-s.origin.Y)*s.inverse, (p.Z-s.origin.Z)*s.inverse
	i, dx := nearest1(x, s.n[0])
	j, dy := nearest1(y, s.n[1])
	k, dz := nearest1(z, s.n[2])
	n := s.node(i, j, k)
	value = float64(s.value[n])
	within = float64(s.err[n]) + s.step*math.Sqrt(dx*dx+dy*dy+dz*dz)
	return value, within*(1+1e-6) + 1e-6*math.Abs(value)
}

// nearest1 returns the nearest of n nodes along one axis and how far off it is.
func nearest1(x float64, n int) (int, float64) {
	i := 0
	if x > 0 {
		i = int(min(x+0.5, float64(n-1)))
	}
	return i, x - float64(i)
}

// bound returns bounds of the signed distance of p.
func (s *sampled) bound(p r3.Vec) (lo, hi float64) {
	v, e := s.near(p)
	x := max(s.bounds.Min.X-p.X, p.X-s.bounds.Max.X, 0)
	y := max(s.bounds.Min.Y-p.Y, p.Y-s.bounds.Max.Y, 0)
	z := max(s.bounds.Min.Z-p.Z, p.Z-s.bounds.Max.Z, 0)
	lo, hi = v-e, v+e
	if d := x*x + y*y + z*z; d > 0 {
		lo = max(lo, math.Sqrt(d)-s.thick/2)
	}
	return lo, hi
}

// smooth returns the interpolated distance of p, for choosing between places
// near the surface; beyond the grid it grows with the way to it.
func (s *sampled) smooth(p r3.Vec) float64 {
	q := r3.Scale(1/s.step, r3.Sub(p, s.origin))
	clamp := func(x float64, n int) (int, float64, float64) {
		c := max(0, min(float64(n-1)-1e-9, x))
		i := math.Floor(c)
		return int(i), c - i, x - c
	}
	i, u, dx := clamp(q.X, s.n[0])
	j, v, dy := clamp(q.Y, s.n[1])
	k, w, dz := clamp(q.Z, s.n[2])
	n := s.node(i, j, k)
	row, layer := s.n[0], s.n[0]*s.n[1]
	mix := func(n int) float64 { return float64(s.value[n])*(1-u) + float64(s.value[n+1])*u }
	d := (mix(n)*(1-v)+mix(n+row)*v)*(1-w) + (mix(n+layer)*(1-v)+mix(n+layer+row)*v)*w
	if dx != 0 || dy != 0 || dz != 0 {
		d += s.step * math.Sqrt(dx*dx+dy*dy+dz*dz)
	}
	return d
}

// exact returns the signed distance of p.
func (s *sampled) exact(p r3.Vec) float64 {
	v, e := s.near(p)
	if math.Abs(v) <= e || s.numOpen > 0 {
		return s.signed(p, s.thick)
	}
	_, _, d := s.bvh.Closest(p)
	if v < 0 {
		return -d
	}
	return d
}
