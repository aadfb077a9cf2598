package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	boltAngle   = 0.5 * math.Pi / 180 // between the holes' axes
	boltLike    = 0.01                // of the holes' radius
	boltOff     = 1e-3                // of the circle's radius, of a hole's middle
	boltEven    = 0.5 * math.Pi / 180 // of the steps between holes
	leastBolts  = 3                   // evenly round the circle
	leastUneven = 5                   // unevenly: fewer lie on a circle by symmetry
	mostHoles   = 48                  // alike, of which circles are looked for
	mostBolts   = 8                   // circles of a set of holes
	boltForm    = 0.25                // what such a circle weighs against a clean one
	leastSpan   = 2.5                 // radii of a hole, least radius of the circle
)

// boltCircles returns a ring for each circle on which the middles of like,
// parallel holes or pins lie, as the bolts of a flange do. It is hardly ever
// the hinge, but its centre is.
func boltCircles(lines []line) []ring {
	var out []ring
	used := make([]bool, len(lines))
	for i := range lines {
		if used[i] || lines[i].likes < leastBolts {
			continue
		}
		set := []*line{}
		for k := range lines {
			if !used[k] && alike(&lines[i], &lines[k]) {
				used[k] = true
				set = append(set, &lines[k])
			}
		}
		if len(set) >= leastBolts && len(set) <= mostHoles {
			out = append(out, circlesOf(set)...)
		}
	}
	return out
}

func alike(a, b *line) bool {
	r := a.rings[0].radius
	return lineAngle(a.axis, b.axis) < boltAngle && math.Abs(b.rings[0].radius-r) < boltLike*r
}

// circlesOf finds the circles among the middles of like holes, those with the
// most holes first.
func circlesOf(set []*line) []ring {
	axis, base := set[0].axis, set[0].origin
	x := across(axis)
	y := r3.Cross(axis, x)
	p := make([][2]float64, len(set))
	for i, l := range set {
		d := r3.Sub(l.rings[0].centre, base)
		p[i] = [2]float64{r3.Dot(d, x), r3.Dot(d, y)}
	}
	var out []ring
	left := make([]bool, len(set))
	for i := range left {
		left[i] = true
	}
	for range mostBolts {
		on := bestBolts(p, left, leastSpan*set[0].rings[0].radius)
		if on == nil {
			break
		}
		at := make([]r3.Vec, len(on))
		for i, k := range on {
			left[k] = false
			at[i] = r3.Add(base, r3.Add(r3.Scale(p[k][0], x), r3.Scale(p[k][1], y)))
		}
		if r, ok := boltRing(set, on, at); ok {
			out = append(out, r)
		}
	}
	return out
}

// bestBolts returns the largest set of points that are left on one circle.
func bestBolts(p [][2]float64, left []bool, least float64) []int {
	var best []int
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			for k := j + 1; k < len(p); k++ {
				if !left[i] || !left[j] || !left[k] {
					continue
				}
				c, ok := circleThrough(p[i], p[j], p[k])
				if !ok || c[2] < least {
					continue
				}
				if countOn(p, left, c) <= len(best) {
					continue
				}
				if on := boltsOn(p, left, c); len(on) > len(best) {
					best = on
				}
			}
		}
	}
	return best
}

func countOn(p [][2]float64, left []bool, c [3]float64) int {
	n := 0
	for i, q := range p {
		if left[i] && math.Abs(math.Hypot(q[0]-c[0], q[1]-c[1])-c[2]) < boltOff*c[2] {
			n++
		}
	}
	return n
}

// boltsOn lists the points on a circle; it is nil where symmetry alone may have
// put them there.
func boltsOn(p [][2]float64, left []bool, c [3]float64) []int {
	type hole struct {
		at    int
		angle float64
	}
	var on []hole
	for i, q := range p {
		u, v := q[0]-c[0], q[1]-c[1]
		if left[i] && math.Abs(math.Hypot(u, v)-c[2]) < boltOff*c[2] {
			on = append(on, hole{i, math.Atan2(v, u)})
		}
	}
	slices.SortStableFunc(on, func(a, b hole) int { return compareExact(a.angle, b.angle) })
	even, widest := true, 0.0
	out := make([]int, len(on))
	for i, h := range on {
		out[i] = h.at
		step := on[(i+1)%len(on)].angle - h.angle
		if step < 0 {
			step += 2 * math.Pi
		}
		widest = max(widest, step)
		even = even && math.Abs(step-2*math.Pi/float64(len(on))) < boltEven
	}
	if even && len(on) >= leastBolts || len(on) >= leastUneven && widest < math.Pi {
		return out
	}
	return nil
}

// boltRing is the ring that stands for holes on a circle. Its axis is that of
// the holes.
func boltRing(set []*line, on []int, at []r3.Vec) (ring, bool) {
	f, ok := fitCircle(at)
	if !ok {
		return ring{}, false
	}
	var axis r3.Vec
	tilt, shift := 0.0, 0.0
	for _, k := range on {
		a := set[k].axis
		if r3.Dot(a, axis) < 0 {
			a = r3.Scale(-1, a)
		}
		axis = r3.Add(axis, a)
		tilt, shift = max(tilt, set[k].tilt), max(shift, set[k].shift)
	}
	if f.shift > shift { // false for NaN
		shift = f.shift
	}
	return ring{
		centre: f.centre, axis: r3.Unit(axis), radius: f.radius, arc: 2 * math.Pi, form: boltForm,
		tilt: tilt, shift: max(shift, fileRounding*f.radius), points: at, bolts: true,
	}, true
}
