package doc

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// ballNear is how far, relative to its radius, a ball's centre may be from where
// it was found, which rests on a sample of its faces.
const ballNear = 0.01

// ballOf returns what a user would pick for a ball joint: the largest round
// face about its centre on either part. Its own centre is the better one. It is
// false where there is none.
func (s *Session) ballOf(centre r3.Vec, parts ...int) (housing, bool) {
	about, even := centre, ballNear
	var h housing
	for range 2 { // about where it was found, then about its own centre
		ball, ok := s.largestBall(about, even, parts)
		if !ok {
			return housing{}, false
		}
		h = housing{recipe: DatumRecipe{Method: LeastSquares, Shape: fit.Sphere}}
		var err error
		if h.picks, err = s.Pick(ball.part, ball.elements); err != nil {
			return h, false // it runs over pieces that were joined
		}
		if h.datum, err = s.FitPicks(h.picks, h.recipe); err != nil || r3.Norm(r3.Sub(h.datum.Origin, centre)) > ballNear*ball.radius {
			return h, false
		}
		about, even = h.datum.Origin, evenRadius
	}
	return h, true
}

func (s *Session) largestBall(centre r3.Vec, even float64, parts []int) (best roundThing, ok bool) {
	for _, p := range parts {
		for _, t := range ballFaces(s.Parts[p].Mesh, centre, even) {
			if t.weight > best.weight {
				best, best.part, ok = t, p, true
			}
		}
	}
	return best, ok
}

// leastBall is how many triangles make a ball: fewer lie on one by chance.
const leastBall = 12

// ballFaces returns the connected pieces of spheres about a point; even is how
// much their radius may vary, relative to it.
func ballFaces(m *mesh.Mesh, centre r3.Vec, even float64) []roundThing {
	top := m.Topology()
	radius := make([]float64, len(m.Triangles()))
	for t := range radius {
		radius[t] = ballRadius(m, t, centre, even)
	}
	var out []roundThing
	for t, r := range radius {
		if r == 0 {
			continue
		}
		face := []int32{int32(t)}
		radius[t] = 0
		area := 0.0
		for i := 0; i < len(face); i++ {
			area += r3.Norm(m.AreaNormal(int(face[i]))) / 2
			for _, e := range top.TriEdges[face[i]] {
				for _, u := range top.EdgeFaces(int(e)) {
					if x := radius[u]; x != 0 && math.Abs(x-r) <= even*r {
						radius[u] = 0
						face = append(face, u)
					}
				}
			}
		}
		if len(face) >= leastBall {
			slices.Sort(face)
			out = append(out, roundThing{elements: Elements{Triangles: face}, shape: fit.Sphere, radius: r, weight: area})
		}
	}
	return out
}

// ballRadius returns the radius of the sphere about a point that a triangle
// lies on, 0 where it lies on none.
func ballRadius(m *mesh.Mesh, t int, centre r3.Vec, even float64) float64 {
	a, b, c := m.Corners(t)
	ra, rb, rc := r3.Norm(r3.Sub(a, centre)), r3.Norm(r3.Sub(b, centre)), r3.Norm(r3.Sub(c, centre))
	r := (ra + rb + rc) / 3
	if !(max(ra, rb, rc)-min(ra, rb, rc) <= even*r) || r == 0 {
		return 0
	}
	n := m.AreaNormal(t)
	out := r3.Sub(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), centre)
	if !(math.Abs(r3.Dot(n, out)) >= facetFacing*r3.Norm(n)*r3.Norm(out)) || r3.Norm(n) == 0 {
		return 0
	}
	return r
}

// ballChoice fills in a choice whose child turns every way about a point.
func (f *proposer) ballChoice(out *Choice, child, parent int, centre r3.Vec) {
	s := f.session
	j := Joint{Kind: out.Kind, Child: s.Parts[child].Name}
	if h, ok := s.ballOf(centre, child, parent); ok {
		out.Picks, out.Recipe, out.Datum = h.picks, h.recipe, h.datum
		centre = h.datum.Origin
	} else {
		nan := math.NaN()
		out.Datum = fit.Datum{Kind: fit.Point, Origin: centre, Quality: fit.Quality{RMS: nan, FormError: nan, SigmaAxis: nan, SigmaOrigin: nan, SigmaRadius: nan}}
	}
	j.Datum = fit.Datum{Kind: fit.Sphere, Origin: centre, Radius: max(out.Datum.Radius, out.Evidence.Radius)}
	spec, err := s.specFor(j)
	if err != nil { // it is a ball's
		spec = kinematics.FrameSpec{Datum: kinematics.Axis{Point: centre, Dir: r3.Vec{Z: 1}}}
	}
	out.Spec = spec
}
