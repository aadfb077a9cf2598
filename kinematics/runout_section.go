package kinematics

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// defaultStations is how many sections a surface gets at most.
const defaultStations = 64

// section collects where a patch crosses one station.
type section struct {
	level   float64
	points  []sectionPoint
	arcs    [][2]float64 // start and length of the angle that each triangle covers
	sagitta float64      // the largest of its triangles
}

// sectionPoint is a vertex (both halves of key alike) or an edge's crossing. The
// circle of an axial section may cross an edge twice: key tells lower from
// higher vertex, so that the first crossing has the lower one in front.
type sectionPoint struct {
	key          uint64
	angle, value float64
	inside       bool // within a flat facet: it covers, but is no point of the surface
}

// levels returns the levels at which vertices stand, rising, those within the
// tolerance taken as one. Rows of vertices are told apart by the gaps between
// them and a wide row is cut evenly, so that a reversed axis gives the same
// levels.
func (p *runoutPatch) levels() []float64 {
	sorted := slices.Sorted(slices.Values(p.level))
	var out []float64
	for i := 0; i < len(sorted); {
		first := i
		for i++; i < len(sorted) && sorted[i]-sorted[i-1] <= 2*p.tol; i++ {
		}
		out = append(out, evenly(sorted[first:i], 2*p.tol)...)
	}
	return out
}

// evenly cuts a row of rising levels into pieces of at most a width, and returns
// the middle of what each holds.
func evenly(row []float64, width float64) []float64 {
	low, high := row[0], row[len(row)-1]
	if !(high > low) {
		return []float64{low}
	}
	n := max(1, math.Ceil((high-low)/width))
	var out []float64
	for k := 0.0; len(row) > 0; k++ {
		end := low + (k+1)/n*(high-low)
		i := 0
		for i < len(row) && (row[i] <= end || k+1 >= n) {
			i++
		}
		if i > 0 {
			out = append(out, row[0]+(row[i-1]-row[0])/2)
			row = row[i:]
		}
	}
	return out
}

// survey cuts the patch at the levels or, where there are more than atMost, at
// evenly spread ones and then, up to as many again, closer and closer round the
// one with the largest circular runout.
func (p *runoutPatch) survey(ctx context.Context, levels []float64, atMost int) ([]section, error) {
	taken := spread(-1, len(levels), atMost)
	out, err := p.cut(ctx, at(levels, taken))
	for room := atMost; err == nil && room > 1; {
		worst := 0
		for i := range out {
			if out[i].circular() > out[worst].circular() {
				worst = i
			}
		}
		below, above := -1, len(levels)
		if worst > 0 {
			below = taken[worst-1]
		}
		if worst < len(taken)-1 {
			above = taken[worst+1]
		}
		half := max(1, min(room, atMost/2)/2)
		more := append(spread(below, taken[worst], half), spread(taken[worst], above, half)...)
		if len(more) == 0 {
			break
		}
		room -= len(more)
		var closer []section
		closer, err = p.cut(ctx, at(levels, more))
		taken = append(taken, more...)
		out = append(out, closer...)
		slices.Sort(taken)
		slices.SortFunc(out, func(a, b section) int { return cmp.Compare(a.level, b.level) })
	}
	return out, err
}

// spread returns at most n whole numbers, evenly spread over those above low and
// below high, both ends among them where n is above 1.
func spread(low, high, n int) []int {
	free := high - low - 1
	if free <= n {
		out := make([]int, max(0, free))
		for i := range out {
			out[i] = low + 1 + i
		}
		return out
	}
	if n == 1 {
		return []int{low + 1 + free/2}
	}
	out := make([]int, n)
	for i := range n {
		// Rounded toward the nearer end, so that a reversed axis takes the same ones.
		k := i * (free - 1) / (n - 1)
		if 2*i >= n {
			k = free - 1 - (n-1-i)*(free-1)/(n-1)
		}
		out[i] = low + 1 + k
	}
	return out
}

func at(levels []float64, indexes []int) []float64 {
	out := make([]float64, len(indexes))
	for i, k := range indexes {
		out[i] = levels[k]
	}
	return out
}

// circular returns the section's circular runout, 0 for too few points.
func (s *section) circular() float64 {
	if len(s.points) < minPoints {
		return 0
	}
	low, high := s.points[0].value, s.points[0].value
	for _, q := range s.points[1:] {
		low, high = min(low, q.value), max(high, q.value)
	}
	return high - low
}

// cut returns the sections of the patch at rising levels.
func (p *runoutPatch) cut(ctx context.Context, levels []float64) ([]section, error) {
	out := make([]section, len(levels))
	for i, l := range levels {
		out[i].level = l
	}
	for k := range p.tris {
		if k%checkEvery == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		t := &p.tris[k]
		low, high := p.reach(t)
		i, _ := slices.BinarySearch(levels, low-p.tol)
		for ; i < len(levels) && levels[i] <= high+p.tol; i++ {
			if p.direction == Axial {
				p.cutFace(&out[i], k)
			} else {
				p.cutTriangle(&out[i], t)
			}
		}
	}
	for i := range out {
		s := &out[i]
		slices.SortStableFunc(s.points, func(a, b sectionPoint) int { return cmp.Compare(a.key, b.key) })
		s.points = slices.CompactFunc(s.points, func(a, b sectionPoint) bool { return a.key == b.key })
		slices.SortStableFunc(s.points, func(a, b sectionPoint) int { return cmp.Compare(a.angle, b.angle) })
	}
	return out, nil
}

// cutTriangle adds the two points where the station crosses the triangle. A
// triangle that only touches it with one corner, or lies in it, adds none.
func (p *runoutPatch) cutTriangle(s *section, t *patchTriangle) {
	var side [3]int
	for c, v := range t.v {
		if d := p.level[v] - s.level; d > p.tol {
			side[c] = 1
		} else if d < -p.tol {
			side[c] = -1
		}
	}
	var hits [3]sectionPoint
	n := 0
	for c := range 3 {
		d := (c + 1) % 3
		if side[c] == 0 {
			hits[n] = p.vertexPoint(t.v[c])
			n++
		}
		if side[c]*side[d] < 0 {
			hits[n] = p.edgePoint(min(t.v[c], t.v[d]), max(t.v[c], t.v[d]), s.level)
			hits[n].inside = t.flat[c]
			n++
		}
	}
	if n != 2 {
		return
	}
	s.arcs = append(s.arcs, arcBetween(hits[0], hits[1]))
	for _, h := range hits[:n] {
		if !h.inside {
			s.points = append(s.points, h)
		}
	}
	s.sagitta = max(s.sagitta, p.sagitta(t.v))
}

// arcBetween returns the arc from a to b the short way.
func arcBetween(a, b sectionPoint) [2]float64 {
	return [2]float64{a.angle, wrap(b.angle - a.angle)}
}

// reach returns the levels that a triangle spans.
func (p *runoutPatch) reach(t *patchTriangle) (low, high float64) {
	a, b, c := p.level[t.v[0]], p.level[t.v[1]], p.level[t.v[2]]
	low, high = min(a, b, c), max(a, b, c)
	if p.direction == Axial {
		low = p.nearest(t) // a facet may come nearer to the axis than its corners
	}
	return low, high
}

// sagitta returns how far the round stands over a triangle's chords: by the
// angle that it spans about the surface's own axis, or about the joint axis where
// that is not known.
func (p *runoutPatch) sagitta(t [3]int32) float64 {
	theta, rho := p.ownTheta(), p.value
	if p.own != nil {
		rho = p.own.rho
	}
	span, r := 0.0, 0.0
	for c := range t {
		span = max(span, math.Abs(wrap(theta[t[c]]-theta[t[(c+1)%3]])))
		r = max(r, rho[t[c]])
	}
	return r * (1 - math.Cos(span/2))
}

func (p *runoutPatch) vertexPoint(v int32) sectionPoint {
	return sectionPoint{
		key: uint64(v)<<32 | uint64(v), angle: turnOf(p.angle[v]), value: p.value[v],
		inside: p.inFacet != nil && p.inFacet[v],
	}
}

// edgePoint returns where the edge from vertex a to b of a radial or slanted
// surface crosses the level, which lies between theirs.
func (p *runoutPatch) edgePoint(a, b int32, level float64) sectionPoint {
	var x, y float64
	if p.own != nil && math.Abs(wrap(p.own.theta[b]-p.own.theta[a])) < 2*math.Pi/3 {
		x, y = p.crossArc(a, b, level)
	} else {
		from, to := p.pts[a], p.pts[b]
		s := (level - from.Z) / (to.Z - from.Z)
		x, y = from.X+s*(to.X-from.X), from.Y+s*(to.Y-from.Y)
	}
	return sectionPoint{key: uint64(a)<<32 | uint64(b), angle: turnOf(math.Atan2(y, x)), value: math.Hypot(x, y)}
}

// crossArc returns where the edge, laid on the surface as an even turn about
// the surface's own axis with an even change of distance from it, passes the
// plane z = level. It solves by Newton's rule kept inside a shrinking bracket.
func (p *runoutPatch) crossArc(a, b int32, level float64) (x, y float64) {
	o := p.own
	r, dr := o.rho[a], o.rho[b]-o.rho[a]
	t, dt := o.theta[a], wrap(o.theta[b]-o.theta[a])
	l, dl := o.along[a], o.along[b]-o.along[a]
	rising := p.level[b] > p.level[a]
	lo, hi := 0.0, 1.0
	s := (level - p.level[a]) / (p.level[b] - p.level[a])
	var sin, cos float64
	for range 60 {
		sin, cos = math.Sincos(t + s*dt)
		across := o.u.Z*cos + o.v.Z*sin
		f := o.centre.Z + (r+s*dr)*across + (l+s*dl)*o.w.Z - level
		slope := dr*across + (r+s*dr)*dt*(o.v.Z*cos-o.u.Z*sin) + dl*o.w.Z
		if (f > 0) == rising {
			hi = s
		} else {
			lo = s
		}
		next := s - f/slope
		if !(next >= lo && next <= hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-s) <= epsilon {
			break
		}
		s = next
	}
	sin, cos = math.Sincos(t + s*dt)
	rho, along := r+s*dr, l+s*dl
	x = o.centre.X + rho*(o.u.X*cos+o.v.X*sin) + along*o.w.X
	y = o.centre.Y + rho*(o.u.Y*cos+o.v.Y*sin) + along*o.w.Y
	return x, y
}

// turnOf returns the angle in [0, 2 pi).
func turnOf(a float64) float64 {
	if a < 0 {
		a += 2 * math.Pi
	}
	if a >= 2*math.Pi {
		return 0
	}
	return a
}

// covered returns the length of the union of arcs on the circle, given by start
// and signed length.
func covered(arcs [][2]float64) float64 {
	spans := make([][2]float64, 0, len(arcs)+8)
	for _, a := range arcs {
		from, to := a[0], a[0]+a[1]
		if a[1] < 0 {
			from, to = to, from
		}
		if from < 0 {
			from, to = from+2*math.Pi, to+2*math.Pi
		}
		if to > 2*math.Pi {
			spans = append(spans, [2]float64{0, to - 2*math.Pi})
			to = 2 * math.Pi
		}
		spans = append(spans, [2]float64{from, to})
	}
	slices.SortFunc(spans, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	sum, end := 0.0, 0.0
	for _, s := range spans {
		if s[1] > end {
			sum += s[1] - max(end, s[0])
			end = s[1]
		}
	}
	return sum
}
