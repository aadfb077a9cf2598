package sweep

import (
	"context"
	"math"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// chip works through some faces of a still part.
type chip struct {
	*carver
	ctx  context.Context
	made *atomic.Int64

	triangles        []int32
	pieces           [][3]r3.Vec
	area, restArea   mesh.Sum
	depth, restDepth float64
	deepest          r3.Vec
	allowed          float64 // of the face at work
	touched          bool    // some of the face is kept
}

// probe is a point of a face: how deep it lies in the envelope and in the part
// as modelled, negative outside.
type probe struct {
	at         r3.Vec
	deep, rest float64
	excess     float64 // depth beyond what is allowed; carved where positive
	resting    float64 // positive where it touches or lies in the part as modelled
}

// probe looks at a point. How deep it lies in the part counts only where it lies
// in the envelope, or as near as is allowed.
func (c *carver) probe(p r3.Vec, allowed float64) probe {
	q := probe{at: p, deep: -c.swept.signed(p, 0), rest: -far}
	if c.rest != nil && q.deep > -allowed {
		q.rest = -c.rest.signed(p, 0)
	}
	return q.judged(allowed)
}

// judged returns the probe for a face with the given allowance.
func (q probe) judged(allowed float64) probe {
	// Where it touches, it must go deeper; what lies in the part stays out.
	q.excess = min(q.deep-max(0, q.rest)-allowed, allowed-q.rest)
	q.resting = min(q.deep, q.rest) + allowed
	return q
}

func (x *chip) face(t int32, v [3]probe, allowed float64) {
	if x.made.Load() > mostPieces {
		return
	}
	x.allowed, x.touched = allowed, false
	x.divide([3]probe{v[0].judged(allowed), v[1].judged(allowed), v[2].judged(allowed)}, 0)
	if x.touched {
		x.triangles = append(x.triangles, t)
	}
}

// divide halves a piece of a face until it lies on one side or is small, and
// takes what lies inside. A depth changes by no more than the way between two
// points, an excess by no more than twice that.
func (x *chip) divide(v [3]probe, level int) {
	if x.ctx.Err() != nil {
		return
	}
	long, k := 0.0, 0
	for i := range v {
		if d := r3.Norm2(r3.Sub(v[(i+1)%3].at, v[i].at)); d > long {
			long, k = d, i
		}
	}
	long = math.Sqrt(long)
	reach := long / math.Sqrt(3) // every point of the piece is within it of a corner
	deepest := max(v[0].deep, v[1].deep, v[2].deep)
	if deepest < -reach-x.allowed {
		return
	}
	const mostLevels = 60
	if long <= x.fine || level >= mostLevels || x.settled(v, reach, deepest) {
		x.take(v)
		return
	}
	a, b, c := v[k], v[(k+1)%3], v[(k+2)%3]
	m := x.probe(r3.Scale(0.5, r3.Add(a.at, b.at)), x.allowed)
	x.divide([3]probe{a, m, c}, level+1)
	x.divide([3]probe{m, b, c}, level+1)
}

// settled tells whether all points of a piece are alike and none lies deeper
// than what is known.
func (x *chip) settled(v [3]probe, reach, deepest float64) bool {
	all := min(v[0].excess, v[1].excess, v[2].excess) > 2*reach
	none := max(v[0].excess, v[1].excess, v[2].excess) < -2*reach
	if !all && !none || all && deepest+reach > x.depth+x.fine {
		return false
	}
	held := min(v[0].resting, v[1].resting, v[2].resting) > reach
	free := max(v[0].resting, v[1].resting, v[2].resting) < -reach || x.rest == nil
	return held && deepest+reach <= x.restDepth+x.fine || free
}

// take cuts a small piece where the excess is zero, as if it were linear, and
// keeps what lies inside.
func (x *chip) take(v [3]probe) {
	for _, q := range v {
		switch {
		case q.excess > 0:
			if q.deep > x.depth {
				x.depth, x.deepest = q.deep, q.at
			}
		case q.resting > 0:
			x.restDepth = max(x.restDepth, q.rest)
		}
	}
	own := 0.0
	for _, t := range fan(cut(v[:], func(q probe) float64 { return q.excess })) {
		if a := r3.Norm(r3.Cross(r3.Sub(t[1], t[0]), r3.Sub(t[2], t[0]))) / 2; a > 0 {
			own += a
			x.pieces = append(x.pieces, t)
			x.made.Add(1)
		}
	}
	if own > 0 {
		x.touched = true
		x.area.Add(own)
	}
	held := 0.0
	for _, t := range fan(cut(v[:], func(q probe) float64 { return q.resting })) {
		held += r3.Norm(r3.Cross(r3.Sub(t[1], t[0]), r3.Sub(t[2], t[0]))) / 2
	}
	if held > own {
		x.restArea.Add(held - own)
	}
}

// cut returns the polygon of a triangle in which a function, taken as linear,
// is positive.
func cut(v []probe, of func(probe) float64) []r3.Vec {
	var out []r3.Vec
	for k, p := range v {
		q := v[(k+1)%3]
		fp, fq := of(p), of(q)
		if fp > 0 {
			out = append(out, p.at)
		}
		if (fp > 0) != (fq > 0) {
			out = append(out, r3.Add(p.at, r3.Scale(fp/(fp-fq), r3.Sub(q.at, p.at))))
		}
	}
	return out
}

// fan cuts a convex polygon into triangles.
func fan(p []r3.Vec) [][3]r3.Vec {
	var out [][3]r3.Vec
	for k := 2; k < len(p); k++ {
		out = append(out, [3]r3.Vec{p[0], p[k-1], p[k]})
	}
	return out
}
