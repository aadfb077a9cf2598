package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxAngles bounds the angles that are sorted; more are thinned into that many
// bins, which keeps every gap wider than a bin exact.
const maxAngles = 8192

// coverage returns the arc that the points cover about the datum's axis, and
// the sagitta of its largest step. Around a sphere the arc is the widest
// angle that the points span as seen from the centre.
func (c *cloud) coverage(d Datum, closed bool) (arc, sagitta float64) {
	if d.Kind == Sphere {
		return c.capAngle(d, closed), 0
	}
	angles, reach := c.angles(d)
	arc, step := coveredArc(angles, closed)
	half := math.Sin(step / 4)
	return arc, 2 * reach * half * half
}

// angles returns the sorted angles of the points about the axis and the
// largest nominal radius; points on the axis have no angle.
func (c *cloud) angles(d Datum) (sorted []float64, reach float64) {
	f := poseAlong(d.Axis, r3.Vec{})
	reach = d.Radius + d.Radius2
	cone := d.Kind == Cone
	tan := math.Tan(d.HalfAngle)
	all := make([]float64, 0, c.len())
	for i := range c.x {
		q := r3.Vec{X: c.x[i] - d.Origin.X, Y: c.y[i] - d.Origin.Y, Z: c.z[i] - d.Origin.Z}
		u, v := r3.Dot(f.n, q), r3.Dot(f.t, q)
		if cone {
			reach = max(reach, r3.Dot(f.a, q)*tan)
		}
		if u*u+v*v > 1e-18 {
			all = append(all, math.Atan2(v, u))
		}
	}
	return sortAngles(all), reach
}

// sortAngles sorts angles in -pi..pi; of a great many it keeps the first and
// last of each of maxAngles bins.
func sortAngles(all []float64) []float64 {
	if len(all) <= maxAngles {
		slices.Sort(all)
		return all
	}
	const bins = maxAngles
	lo, hi := make([]float64, bins), make([]float64, bins)
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
	}
	for _, a := range all {
		k := min(max(int((a+math.Pi)/(2*math.Pi)*bins), 0), bins-1)
		lo[k], hi[k] = min(lo[k], a), max(hi[k], a)
	}
	out := all[:0]
	for k := range lo {
		if lo[k] <= hi[k] {
			out = append(out, lo[k])
		}
		if lo[k] < hi[k] {
			out = append(out, hi[k])
		}
	}
	return out
}

// coveredArc returns 2 pi minus the largest gap between neighbouring angles,
// and the largest step inside the covered arc. The ring counts as closed, with
// an arc of 2 pi and the gap as one more step, if closed is given or if the
// largest gap is at most 1.5 times the typical step. Typical is the median
// step by width: half of the arc is made of steps at least as wide, so that
// points doubled by noise do not count as steps.
func coveredArc(sorted []float64, closed bool) (arc, step float64) {
	n := len(sorted)
	if n == 0 {
		return 0, 0
	}
	gaps := make([]float64, n)
	largest := 0
	for i := range gaps {
		if i+1 < n {
			gaps[i] = sorted[i+1] - sorted[i]
		} else {
			gaps[i] = sorted[0] + 2*math.Pi - sorted[i]
		}
		if gaps[i] > gaps[largest] {
			largest = i
		}
	}
	gap := gaps[largest]
	steps := append(gaps[:largest:largest], gaps[largest+1:]...)
	slices.Sort(steps)
	if len(steps) > 0 {
		step = steps[len(steps)-1]
	}
	arc = 2*math.Pi - gap
	if closed || gap <= 1.5*typical(steps, arc) {
		return 2 * math.Pi, gap
	}
	return arc, step
}

// typical returns the step of the sorted list at which half of their sum is
// reached.
func typical(steps []float64, sum float64) float64 {
	run := 0.0
	for i := len(steps) - 1; i >= 0; i-- {
		run += steps[i]
		if run >= sum/2 {
			return steps[i]
		}
	}
	return 0
}

// capAngle returns twice the largest angle between a point and the mean
// direction of all points seen from the sphere's centre, or 2 pi if the empty
// cap on the other side is no wider than 1.5 times the points' spacing.
func (c *cloud) capAngle(d Datum, closed bool) float64 {
	var mean r3.Vec
	for i := range c.x {
		mean = r3.Add(mean, outward(r3.Sub(c.at(i), d.Origin), r3.Vec{}))
	}
	if closed || r3.Norm(mean) < 1e-9*float64(c.len()) {
		return 2 * math.Pi
	}
	mean = r3.Unit(mean)
	low := 1.0
	for i := range c.x {
		low = min(low, r3.Dot(mean, outward(r3.Sub(c.at(i), d.Origin), mean)))
	}
	empty := math.Acos(min(1, max(-1, -low)))
	if empty <= 1.5*math.Sqrt(4*math.Pi/float64(c.len())) {
		return 2 * math.Pi
	}
	return 2 * (math.Pi - empty)
}

// diameter returns the largest distance between two of the planar points
// (u, v): the peak-to-valley of residuals with two components. Points inside
// the octagon of the extreme points in eight directions cannot take part, so
// few are left for the convex hull.
func diameter(u, v []float64) float64 {
	hull := convexHull(u, v, outer(u, v))
	best := 0.0
	for i, a := range hull {
		for _, b := range hull[:i] {
			best = max(best, math.Hypot(u[a]-u[b], v[a]-v[b]))
		}
	}
	return best
}

// outer returns the indexes of the points that do not lie strictly inside the
// octagon of extreme points.
func outer(u, v []float64) []int {
	var corner [8]int
	var sin, cos [8]float64
	for k := range corner {
		sin[k], cos[k] = math.Sincos(float64(k) * math.Pi / 4)
	}
	for i := range u {
		for k := range corner {
			if at := corner[k]; (u[i]-u[at])*cos[k]+(v[i]-v[at])*sin[k] > 0 {
				corner[k] = i
			}
		}
	}
	var keep []int
	for i := range u {
		inside := true
		for k := range corner {
			a, b := corner[k], corner[(k+1)%8]
			if a != b && turn(u, v, a, b, i) <= 0 {
				inside = false
				break
			}
		}
		if !inside || slices.Contains(corner[:], i) {
			keep = append(keep, i)
		}
	}
	return keep
}

// turn is positive if the points a, b, c turn to the left.
func turn(u, v []float64, a, b, c int) float64 {
	return (u[b]-u[a])*(v[c]-v[a]) - (v[b]-v[a])*(u[c]-u[a])
}

// convexHull returns the corners of the hull of the chosen points (Andrew's
// monotone chain).
func convexHull(u, v []float64, index []int) []int {
	slices.SortFunc(index, func(a, b int) int {
		if c := compare(u[a], u[b]); c != 0 {
			return c
		}
		return compare(v[a], v[b])
	})
	var hull []int
	for pass := 0; pass < 2; pass++ {
		base := len(hull)
		for _, i := range index {
			for len(hull) > base+1 && turn(u, v, hull[len(hull)-2], hull[len(hull)-1], i) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, i)
		}
		slices.Reverse(index)
	}
	return hull
}
