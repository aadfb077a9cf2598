package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// findMinima adds the local minima to a curve: those from which it rises by
// more than twice its error on either side, or up to an end of the range.
func (d *drafter) findMinima(c *Curve, spots []*spot) error {
	rise := 2 * max(d.error, c.Error*d.scene.frame.scale)
	x := newNearest(d.ctx, d.scene)
	x.slack = tie
	for _, i := range valleys(spots, rise) {
		p := spots[i]
		if i > 0 && i < len(spots)-1 && p.top > 0 {
			var err error
			if p, err = d.settle(x, spots[i-1].value, p, spots[i+1].value); err != nil {
				return err
			}
		}
		c.Minima = append(c.Minima, d.sample(p))
	}
	return nil
}

// valleys returns the indexes of the lowest spots between rises.
func valleys(spots []*spot, rise float64) []int {
	var list []int
	low, high, falling := 0, 0.0, true
	for i, p := range spots {
		switch {
		case falling && p.top < spots[low].top:
			low = i
		case falling && p.top > spots[low].top+rise:
			list = append(list, low)
			high, falling = p.top, false
		case !falling && p.top < high-rise:
			low, falling = i, true
		case !falling:
			high = max(high, p.top)
		}
	}
	if falling {
		list = append(list, low)
	}
	return list
}

// settle moves a spot to the minimum between two values: to that of its pair of
// triangles, then of the pair that is nearest there, until that is the same.
func (d *drafter) settle(x *nearest, from float64, p *spot, to float64) (*spot, error) {
	const rounds = 8
	for range rounds {
		value := d.lowestOf(p.pair, from, p.value, to)
		q, err := d.measure(x, value, 0, p.pair)
		if err != nil {
			return nil, err
		}
		if q.top > p.top {
			return p, nil
		}
		same := q.pair.sameTriangles(&p.pair)
		if p = q; same {
			break
		}
	}
	return p, nil
}

func (d *distant) sameTriangles(o *distant) bool {
	return d.mi == o.mi && d.si == o.si && d.moving == o.moving && d.still == o.still
}

// lowestOf returns where between two values a pair of triangles comes nearest,
// by golden section from at.
func (d *drafter) lowestOf(pair distant, from, at, to float64) float64 {
	m, s := d.scene.moving[pair.mi], d.scene.still[pair.si]
	q := s.corners(pair.still)
	f := func(v float64) float64 {
		p := d.scene.motion.at(v)
		_, a, b := mesh.TriangleDistance(m.placed(pair.moving, &p), q)
		return r3.Norm2(r3.Sub(a, b))
	}
	golden := (math.Sqrt(5) - 1) / 2
	best, low := at, f(at)
	u, v := to-golden*(to-from), from+golden*(to-from)
	fu, fv := f(u), f(v)
	for range 80 {
		if fu < low {
			best, low = u, fu
		}
		if fv < low {
			best, low = v, fv
		}
		if fu <= fv {
			to, v, fv = v, u, fu
			u = to - golden*(to-from)
			fu = f(u)
		} else {
			from, u, fu = u, v, fv
			v = from + golden*(to-from)
			fv = f(v)
		}
	}
	return best
}
