package kinematics

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// completeShare is how much of the best-covered section's arc another section
	// must cover to tell the surface's own axis.
	completeShare = 0.95
	// minPoints is the fewest points of a section that say anything.
	minPoints = 3
	// minCentreArc is the least arc that a section's centre is told from: below a
	// quarter turn it is known ten times worse than its points.
	minCentreArc = math.Pi / 2
)

// measure returns the runout of the patch about the axis.
func (p *runoutPatch) measure(ctx context.Context, axis Axis, o RunoutOptions) (SurfaceRunout, error) {
	origin := axis.Along(p.frame.T)
	given := slices.Clone(o.Radii)
	if p.direction != Axial {
		given = slices.Clone(o.Heights)
		for i := range given {
			given[i] -= origin
		}
	}
	var sections []section
	var err error
	if len(given) > 0 {
		slices.Sort(given)
		sections, err = p.cut(ctx, slices.Compact(given))
	} else {
		stations := o.Stations
		if stations <= 0 {
			stations = defaultStations
		}
		sections, err = p.survey(ctx, p.levels(), max(2, stations))
	}
	if err != nil {
		return SurfaceRunout{}, err
	}
	out := SurfaceRunout{
		Direction: p.direction, Worst: -1, Circular: nan(), Total: nan(), Sagitta: nan(), Tilt: nan(),
		Eccentricity: nanVec(), Own: Axis{Point: nanVec(), Dir: nanVec()},
	}
	best := 0.0
	for i := range sections {
		if st, ok := p.station(&sections[i]); ok {
			out.Stations = append(out.Stations, st)
			best = max(best, st.Arc)
		}
	}
	for i := range out.Stations {
		out.Stations[i].Complete = out.Stations[i].Arc >= completeShare*best
	}
	out.Arc = p.arc()
	out.Short = out.Arc < math.Pi
	p.sum(&out, len(given) > 0)
	p.findAxis(&out)
	p.toModel(&out, origin)
	return out, nil
}

// arc returns the angle about the joint axis that the patch covers as a whole.
func (p *runoutPatch) arc() float64 {
	arcs := make([][2]float64, len(p.tris))
	for i := range p.tris {
		t := &p.tris[i]
		if p.over(t, 0, 0) {
			return 2 * math.Pi
		}
		// A triangle beside the axis spans what its widest edge does.
		for c, v := range t.v {
			a := [2]float64{turnOf(p.angle[v]), wrap(p.angle[t.v[(c+1)%3]] - p.angle[v])}
			if math.Abs(a[1]) >= math.Abs(arcs[i][1]) {
				arcs[i] = a
			}
		}
	}
	return covered(arcs)
}

// station measures one section, false where it has too few points.
func (p *runoutPatch) station(s *section) (Station, bool) {
	st := Station{
		Level: s.level, Count: len(s.points), Arc: covered(s.arcs),
		Centre: nanVec(), Radius: nan(), Roundness: nan(), Sagitta: s.sagitta,
		Profile: make([]ProfilePoint, len(s.points)),
	}
	if st.Count < minPoints {
		return st, false
	}
	mean := 0.0
	for i, q := range s.points {
		st.Profile[i] = ProfilePoint{Angle: q.angle, Value: q.value}
		mean += q.value / float64(st.Count)
	}
	st.Low, st.High = extremes(st.Profile)
	st.Circular = st.High.Value - st.Low.Value
	if p.direction == Axial {
		return st, true
	}
	st.Radius = mean
	if st.Arc >= minCentreArc {
		p.centre(&st)
	}
	return st, true
}

// centre fits the section's least-squares circle.
func (p *runoutPatch) centre(st *Station) {
	xs, ys := make([]float64, st.Count), make([]float64, st.Count)
	for i, q := range st.Profile {
		sin, cos := math.Sincos(q.Angle)
		xs[i], ys[i] = q.Value*cos, q.Value*sin
	}
	c, ok := fitCircle(xs, ys)
	if !ok {
		return
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range xs {
		r := math.Hypot(xs[i]-c.x, ys[i]-c.y)
		low, high = min(low, r), max(high, r)
	}
	st.Centre = r3.Vec{X: c.x, Y: c.y, Z: st.Level}
	st.Radius, st.Roundness = c.r, high-low
}

func extremes(profile []ProfilePoint) (low, high ProfilePoint) {
	low, high = profile[0], profile[0]
	for _, q := range profile[1:] {
		if q.Value < low.Value {
			low = q
		}
		if q.Value > high.Value {
			high = q
		}
	}
	return low, high
}

// sum fills the surface's figures from its stations and, unless the stations
// were given, all its vertices.
func (p *runoutPatch) sum(out *SurfaceRunout, given bool) {
	low, high := math.Inf(1), math.Inf(-1)
	for i, st := range out.Stations {
		if out.Worst < 0 || st.Circular > out.Circular {
			out.Worst, out.Circular = i, st.Circular
		}
		out.Sagitta = larger(out.Sagitta, st.Sagitta)
		low, high = min(low, st.Low.Value), max(high, st.High.Value)
	}
	if out.Worst < 0 || p.direction == Slanted {
		return
	}
	if !given {
		for i, v := range p.value {
			if p.inFacet == nil || !p.inFacet[i] {
				low, high = min(low, v), max(high, v)
			}
		}
	}
	out.Total = high - low
}

// findAxis fills Own, Eccentricity and Tilt in frame coordinates.
func (p *runoutPatch) findAxis(out *SurfaceRunout) {
	var xs, ys, zs []float64
	for _, st := range out.Stations {
		switch {
		case !st.Complete:
		case p.direction == Axial:
			for _, q := range st.Profile {
				sin, cos := math.Sincos(q.Angle)
				xs, ys, zs = append(xs, st.Level*cos), append(ys, st.Level*sin), append(zs, q.Value)
			}
		case Finite(st.Centre):
			xs, ys, zs = append(xs, st.Centre.X), append(ys, st.Centre.Y), append(zs, st.Level)
		}
	}
	if len(xs) == 0 {
		return
	}
	if p.direction == Axial {
		if at, sx, sy, ok := fitPlane(xs, ys, zs); ok {
			out.Own.Point = r3.Vec{Z: at}
			out.Own.Dir = r3.Vec{X: -sx, Y: -sy, Z: 1}
			out.Tilt = math.Atan(math.Hypot(sx, sy))
		}
		return
	}
	middle := (zs[0] + zs[len(zs)-1]) / 2
	ax, sx := fitLine(zs, xs)
	ay, sy := fitLine(zs, ys)
	out.Own.Point = r3.Vec{X: ax + sx*middle, Y: ay + sy*middle, Z: middle}
	out.Eccentricity = r3.Vec{X: out.Own.Point.X, Y: out.Own.Point.Y}
	if zs[len(zs)-1]-zs[0] > 4*p.tol {
		out.Own.Dir = r3.Vec{X: sx, Y: sy, Z: 1}
		out.Tilt = math.Atan(math.Hypot(sx, sy))
	}
}

// toModel turns what is in frame coordinates into model axes, and distances
// along the axis from the frame's origin into those from the axis' point.
func (p *runoutPatch) toModel(out *SurfaceRunout, origin float64) {
	for i := range out.Stations {
		st := &out.Stations[i]
		st.Centre = p.frame.Apply(st.Centre)
		if p.direction != Axial {
			st.Level += origin
			continue
		}
		st.Low.Value += origin
		st.High.Value += origin
		for k := range st.Profile {
			st.Profile[k].Value += origin
		}
	}
	out.Own.Point = p.frame.Apply(out.Own.Point)
	out.Own.Dir = p.frame.Turn(out.Own.Dir)
	if Finite(out.Own.Dir) {
		out.Own.Dir = r3.Scale(1/r3.Norm(out.Own.Dir), out.Own.Dir)
	}
	out.Eccentricity = p.frame.Turn(out.Eccentricity)
}

func nanVec() r3.Vec { return r3.Vec{X: nan(), Y: nan(), Z: nan()} }
