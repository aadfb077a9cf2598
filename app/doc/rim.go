package doc

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// What makes a rim of a flat face a circle to hinge about (common practice, no
// published source).
const (
	rimFlat   = 1e-4 // form error of the face relative to its size
	rimRound  = 0.02 // form error of the rim relative to its radius
	rimCentre = 0.02 // between centres of concentric rims, relative to the larger radius
	rimEqual  = 1e-5 // of the face's size: centres known better than that are known equally well
	rimFewest = 8    // vertices; the corners of a box lie on a circle too
)

// rim is a closed outline of a face that lies on a circle.
type rim struct {
	points []r3.Vec
	circle fit.Datum
	normal r3.Vec // of the face, to its outside
}

// roundRim returns the rim that a picked flat face turns about. The plane of
// the face leaves open where its middle is, and the centroid of its vertices
// lies wherever the mesh has most of them, while the centre of a round rim is
// the middle. The outermost rim decides, or, where that is not round, a hole
// if all round ones are concentric; of several concentric rims it is the one
// whose centre is known best, and of equally good ones the largest. It is false
// where other elements are picked as well and where no rim decides.
func (s *Session) roundRim(picks []Pick) (rim, bool) {
	picks = mergePicks(picks)
	if len(picks) != 1 {
		return rim{}, false
	}
	e := picks[0].Elements
	if len(e.Triangles) == 0 || len(e.Vertices)+len(e.Edges)+len(e.Loops) > 0 {
		return rim{}, false
	}
	m, err := s.checkPick(picks[0])
	if err != nil {
		return rim{}, false
	}
	points, normals := fit.FromPatch(m, e.Triangles)
	size := extentOf(points)
	plane, err := fit.FitPlane(points, fit.Options{Normals: normals})
	if err != nil || plane.FormError > rimFlat*size {
		return rim{}, false
	}
	var rims []rim
	outer, outerRound := 0.0, false
	for _, l := range m.Topology().Outline(e.Triangles) {
		r, round := circularRim(fit.FromLoop(m, l))
		if reach := extentOf(r.points); reach > outer {
			outer, outerRound = reach, round
		}
		if round {
			rims = append(rims, r)
		}
	}
	best, ok := decidingRim(rims, outerRound, rimEqual*size)
	best.normal = plane.Axis
	return best, ok
}

// planeOrRim returns what a flat face stands for: a circle where it has a rim
// that it turns about, since a plane has no middle.
func (s *Session) planeOrRim(picks []Pick) fit.Kind {
	if _, ok := s.roundRim(picks); ok {
		return fit.Circle
	}
	return fit.Plane
}

// circularRim fits a circle to a closed outline and reports whether the
// outline follows it for more than half a turn.
func circularRim(points []r3.Vec) (rim, bool) {
	r := rim{points: points}
	if len(points) < rimFewest {
		return r, false
	}
	// An open fit tells by its arc whether a chord closes the outline.
	open, err := fit.FitCircle(points, fit.Options{})
	if err != nil || open.FormError > rimRound*open.Radius || open.Arc <= faceArc {
		return r, false
	}
	r.circle = open
	return r, true
}

// decidingRim chooses among round rims; outermost says that the largest of them
// is the outermost rim of the face.
func decidingRim(rims []rim, outermost bool, equal float64) (rim, bool) {
	if len(rims) == 0 {
		return rim{}, false
	}
	slices.SortStableFunc(rims, func(a, b rim) int {
		switch {
		case a.circle.Radius > b.circle.Radius:
			return -1
		case a.circle.Radius < b.circle.Radius:
			return 1
		}
		return 0
	})
	known := func(r rim) float64 {
		if math.IsNaN(r.circle.SigmaOrigin) {
			return equal
		}
		return max(r.circle.SigmaOrigin, equal)
	}
	largest := rims[0].circle
	best := rims[0]
	for _, r := range rims[1:] {
		if r3.Norm(r3.Sub(r.circle.Origin, largest.Origin)) > rimCentre*largest.Radius {
			if !outermost {
				return rim{}, false // two bores side by side
			}
			continue // a bolt hole
		}
		if known(r) < known(best) {
			best = r
		}
	}
	return best, true
}

// turnedOver returns the same datum with its axis the other way round.
func turnedOver(d fit.Datum) fit.Datum {
	d.Axis = r3.Scale(-1, d.Axis)
	d.Extent = [2]float64{-d.Extent[1], -d.Extent[0]}
	return d
}
