package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// merged joins rings that lie on one circle, drops the small and the short
// ones and sorts by weight.
func merged(all []ring, least float64) []ring {
	slices.SortStableFunc(all, func(a, b ring) int { return compare(b.radius*b.arc, a.radius*a.arc) })
	var out []ring
	byRadius := map[int][]int{} // of out, in steps of 1 %
	for _, r := range all {
		if !(r.radius > least) {
			continue
		}
		step := int(math.Floor(100 * math.Log(r.radius/least)))
		i := -1
		for s := step - 1; s <= step+1; s++ {
			for _, k := range byRadius[s] {
				if out[k].same(r) && (i < 0 || k < i) {
					i = k
				}
			}
		}
		if i < 0 {
			byRadius[step] = append(byRadius[step], len(out))
			out = append(out, r)
			continue
		}
		o := &out[i]
		if isNew := apart(o.points, r.points) > 0.1*r.radius; isNew {
			o.join(r)
		}
	}
	for i := range out {
		out[i].points = thin(out[i].points, ringPoints)
	}
	out = slices.DeleteFunc(out, func(r ring) bool { return r.arc < leastCover })
	slices.SortStableFunc(out, func(a, b ring) int { return compare(b.weight(), a.weight()) })
	return out[:min(len(out), mostRingsOfPart)]
}

// join adds another piece of the circle, each counting by how well it is known.
func (r *ring) join(o ring) {
	r.arc = min(r.arc+o.arc, 2*math.Pi)
	r.points = append(r.points, o.points...)
	if r3.Dot(o.axis, r.axis) < 0 {
		o.axis = r3.Scale(-1, o.axis)
	}
	a, b := 1/(r.tilt*r.tilt), 1/(o.tilt*o.tilt)
	r.axis, r.tilt = r3.Unit(r3.Add(r3.Scale(a, r.axis), r3.Scale(b, o.axis))), 1/math.Sqrt(a+b)
	a, b = 1/(r.shift*r.shift), 1/(o.shift*o.shift)
	r.centre, r.shift = r3.Scale(1/(a+b), r3.Add(r3.Scale(a, r.centre), r3.Scale(b, o.centre))), 1/math.Sqrt(a+b)
}

// same reports whether two rings are pieces of one circle, as well as they are
// known.
func (r ring) same(o ring) bool {
	shift, tilt := sameSigmas*math.Hypot(r.shift, o.shift), sameSigmas*math.Hypot(r.tilt, o.tilt)
	return math.Abs(r.radius-o.radius) < 5e-3*r.radius+min(shift, 0.02*r.radius) &&
		r3.Norm(r3.Sub(r.centre, o.centre)) < 1e-2*r.radius+min(shift, 0.1*r.radius) &&
		lineAngle(r.axis, o.axis) < 0.02+min(tilt, 0.05)
}

// apart is the largest distance of a point of b from all points of a.
func apart(a, b []r3.Vec) float64 {
	far := 0.0
	for _, q := range b {
		near := math.Inf(1)
		for _, p := range a {
			near = min(near, r3.Norm(r3.Sub(p, q)))
		}
		far = max(far, near)
	}
	return far
}
