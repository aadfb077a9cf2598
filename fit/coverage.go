package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// maxAngles bounds the angles that are sorted; more are gathered into that
// many bins, and only the gaps between bins count as gaps.
const maxAngles = 8192

// stretch is a range of angles taken as covered; a single angle has no width.
type stretch struct{ from, to float64 }

// coverage returns the arc that the points cover about the datum's axis, and
// the sagitta of its largest step. Around a sphere the arc is the widest
// angle that the points span as seen from the centre.
func (c *cloud) coverage(d Datum, closed bool) (arc, sagitta float64) {
	if d.Kind == Sphere {
		return c.capAngle(d, closed), 0
	}
	turns, reach := c.turns(d)
	arc, step := coveredArc(stretches(turns), closed)
	half := math.Sin(step / 4)
	return arc, 2 * reach * half * half
}

// turns returns the angles of the points about the axis, in the measure of
// turnOf, and the largest nominal radius; points on the axis have no angle.
func (c *cloud) turns(d Datum) (all []float64, reach float64) {
	f := poseAlong(d.Axis, r3.Vec{})
	reach = d.Radius + d.Radius2
	cone := d.Kind == Cone
	tan := math.Tan(d.HalfAngle)
	all = make([]float64, 0, c.len())
	u0, v0 := r3.Dot(f.n, d.Origin), r3.Dot(f.t, d.Origin)
	for i, x := range c.x {
		y, z := c.y[i], c.z[i]
		u, v := f.n.X*x+f.n.Y*y+f.n.Z*z-u0, f.t.X*x+f.t.Y*y+f.t.Z*z-v0
		if cone {
			reach = max(reach, (f.a.X*(x-d.Origin.X)+f.a.Y*(y-d.Origin.Y)+f.a.Z*(z-d.Origin.Z))*tan)
		}
		if u*u+v*v > 1e-18 {
			all = append(all, turnOf(v, u))
		}
	}
	return all, reach
}

// turnOf grows from -2 to 2 as the angle atan2(v, u) grows from -pi to pi, at
// the cost of one division.
func turnOf(v, u float64) float64 {
	t := v / (math.Abs(u) + math.Abs(v))
	if u < 0 {
		return math.Copysign(2, v) - t
	}
	return t
}

// angleOf returns the angle of a turn.
func angleOf(turn float64) float64 {
	if math.Abs(turn) <= 1 {
		return math.Atan2(turn, 1-math.Abs(turn))
	}
	v := math.Copysign(2-math.Abs(turn), turn)
	return math.Atan2(v, math.Abs(v)-1)
}

// stretches sorts turns and returns their angles; of a great many it returns
// the covered part of each of maxAngles bins.
func stretches(all []float64) []stretch {
	var out []stretch
	if len(all) <= maxAngles {
		slices.Sort(all)
		out = make([]stretch, len(all))
		for i, t := range all {
			a := angleOf(t)
			out[i] = stretch{a, a}
		}
		return out
	}
	bins := make([]stretch, maxAngles)
	for i := range bins {
		bins[i] = stretch{math.Inf(1), math.Inf(-1)}
	}
	for _, t := range all {
		b := &bins[min(max(int((t+2)/4*maxAngles), 0), maxAngles-1)]
		b.from, b.to = min(b.from, t), max(b.to, t)
	}
	bins = slices.DeleteFunc(bins, func(b stretch) bool { return b.from > b.to })
	for i, b := range bins {
		bins[i] = stretch{angleOf(b.from), angleOf(b.to)}
	}
	return bins
}

// coveredArc returns what a sorted list of stretches covers of a full turn,
// and the largest step inside the covered arc. What is not covered is the
// largest gap, and every other one that is out of proportion to the steps (see
// wideGaps): a stray vertex opposite an arc does not make it a ring.
//
// The ring counts as closed, with an arc of 2 pi and the largest gap as one
// more step, if closed is given, or if no gap is out of proportion and the
// largest is at most 1.5 times the typical step. Typical is the median step by
// width: half of the other steps, by length, are at least as wide, so that
// points doubled by noise do not count as steps.
func coveredArc(sorted []stretch, closed bool) (arc, step float64) {
	n := len(sorted)
	if n == 0 {
		return 0, 0
	}
	gaps := make([]float64, n)
	for i := range gaps {
		if i+1 < n {
			gaps[i] = sorted[i+1].from - sorted[i].to
		} else {
			gaps[i] = sorted[0].from + 2*math.Pi - sorted[i].to
		}
	}
	largestLast(gaps)
	gap, steps := gaps[n-1], gaps[:n-1]
	largestLast(steps)
	if len(steps) > 0 {
		step = steps[len(steps)-1]
	}
	if closed {
		return 2 * math.Pi, gap
	}
	if wide := wideGaps(steps); wide > 0 {
		arc = 2*math.Pi - gap
		for _, g := range steps[len(steps)-wide:] {
			arc -= g
		}
		if rest := steps[:len(steps)-wide]; len(rest) > 0 {
			return arc, rest[len(rest)-1]
		}
		return arc, 0
	}
	if typicalAtLeast(steps, gap/1.5) {
		return 2 * math.Pi, gap
	}
	return 2*math.Pi - gap, step
}

// largestLast moves the largest element to the end.
func largestLast(list []float64) {
	if len(list) == 0 {
		return
	}
	big := 0
	for i, v := range list {
		if v > list[big] {
			big = i
		}
	}
	last := len(list) - 1
	list[big], list[last] = list[last], list[big]
}

// wideGaps counts the steps, beside the largest gap of the ring, that are gaps
// too; the list has its largest element last and is sorted if there are any.
// Of n points scattered at random with mean spacing m, n exp(-x/m) steps
// exceed x, and the median by width is 1.678 m. A step is a gap where less
// than 0.01 such would be expected.
func wideGaps(steps []float64) int {
	const medianOfMean = 1.678 // (1 + x) exp(-x) = 1/2
	wide := 0
	for rest := len(steps) - 1; rest > 0 && floats.Sum(steps[:rest]) > 1e-9; rest-- {
		factor := math.Log(100*float64(rest)) / medianOfMean
		if typicalAtLeast(steps[:rest], steps[rest]/factor) {
			break
		}
		if wide == 0 {
			slices.Sort(steps)
		}
		wide++
	}
	return wide
}

// typicalAtLeast says whether steps of the given width and more make up half
// of the sum of the list; rounding does not decide.
func typicalAtLeast(steps []float64, width float64) bool {
	const slack = 1 - 1e-9
	width *= slack
	sum, wide := 0.0, 0.0
	for _, s := range steps {
		sum += s
		if s >= width {
			wide += s
		}
	}
	return wide >= slack*sum/2 && sum > 0
}

// capAngle returns twice the largest angle between a point and the mean
// direction of all points seen from the sphere's centre, or 2 pi if the empty
// cap on the other side is no wider than 1.5 times the points' spacing.
func (c *cloud) capAngle(d Datum, closed bool) float64 {
	n := float64(c.len())
	o := d.Origin
	inverse := make([]float64, c.len()) // distances from the centre
	var mean r3.Vec
	for i := range inverse {
		x, y, z := c.x[i]-o.X, c.y[i]-o.Y, c.z[i]-o.Z
		if l := x*x + y*y + z*z; l > 0 {
			w := 1 / math.Sqrt(l)
			inverse[i] = w
			mean.X, mean.Y, mean.Z = mean.X+w*x, mean.Y+w*y, mean.Z+w*z
		}
	}
	if closed || r3.Norm(mean) < 1e-9*n {
		return 2 * math.Pi
	}
	mean = r3.Unit(mean)
	low := 1.0
	for i, w := range inverse {
		cos := w * (mean.X*(c.x[i]-o.X) + mean.Y*(c.y[i]-o.Y) + mean.Z*(c.z[i]-o.Z))
		if w > 0 && cos < low {
			low = cos
		}
	}
	empty := math.Acos(min(1, max(-1, -low)))
	if empty <= 1.5*math.Sqrt(4*math.Pi/n) {
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
