package doc

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// FeatureAngle is the bend, radians, from which an edge counts as sharp when
// the program looks for patches and loops by itself.
const FeatureAngle = 30 * math.Pi / 180

// FitPicks makes a datum from picked elements. A line that is made from two
// points or two loops runs from the first to the second. It fails where the
// picks do not fit the method, where the model no longer has what was picked,
// and where the points do not determine the datum.
func (s *Session) FitPicks(picks []Pick, r DatumRecipe) (fit.Datum, error) {
	picks = mergePicks(picks)
	if len(picks) == 0 {
		return fit.Datum{}, errors.New("nothing is picked")
	}
	switch r.Method {
	case LeastSquares:
		return s.fitShape(picks, r)
	case TwoLoops:
		return s.fitTwoLoops(picks)
	case TwoPoints:
		return s.fitTwoPoints(picks)
	case EdgeLine:
		return s.fitEdge(picks)
	}
	return fit.Datum{}, fmt.Errorf("there is no datum method %q", r.Method)
}

// fitShape fits a shape to all picked vertices, a circle on a flat face to the
// rim that the face turns about. Where faces are picked their normals help to
// find the right one of several solutions.
func (s *Session) fitShape(picks []Pick, r DatumRecipe) (fit.Datum, error) {
	if r.Shape == fit.Circle {
		if rim, ok := s.roundRim(picks); ok {
			d, err := s.fitRound(picks, rim.points, r, fit.Options{Robust: r.Robust})
			if r3.Dot(d.Axis, rim.normal) < 0 {
				d = turnedOver(d)
			}
			return d, err
		}
	}
	points, normals, err := s.cloud(picks)
	if err != nil {
		return fit.Datum{}, err
	}
	return s.fitRound(picks, points, r, fit.Options{Robust: r.Robust, Normals: normals})
}

// fitRound fits a shape to points of the picked elements and counts it as
// closed where those go all the way round.
func (s *Session) fitRound(picks []Pick, points []r3.Vec, r DatumRecipe, o fit.Options) (fit.Datum, error) {
	d, err := fit.Fit(r.Shape, points, o)
	if err != nil || r.Robust || d.Axis == (r3.Vec{}) || !s.goesRound(picks, d) {
		return d, err
	}
	// The elements go all the way round, so the gaps between vertices are facets
	// and not the end of an arc.
	o.Closed, o.Start = true, &d
	if closed, err := fit.Fit(r.Shape, points, o); err == nil {
		return closed, nil
	}
	return d, nil
}

// cloud returns the picked points with their normals on the picked faces; zero
// where a point is on none, nil where no faces are picked.
func (s *Session) cloud(picks []Pick) (points, normals []r3.Vec, err error) {
	faces := false
	for _, p := range picks {
		m, err := s.checkPick(p)
		if err != nil {
			return nil, nil, err
		}
		faces = faces || len(p.Triangles) > 0
		list := pickedVertices(m, p.Elements)
		start := len(points)
		for _, v := range list {
			points = append(points, m.Vertices()[v])
			normals = append(normals, r3.Vec{})
		}
		on := pickedVertices(m, Elements{Triangles: p.Triangles})
		_, n := fit.FromPatch(m, p.Triangles)
		for k, v := range on {
			i, _ := slices.BinarySearch(list, v)
			normals[start+i] = n[k]
		}
	}
	if !faces {
		normals = nil
	}
	return points, normals, nil
}

// goesRound reports whether a picked closed loop, or a rim of a picked patch,
// runs once or more round the datum's axis.
func (s *Session) goesRound(picks []Pick, d fit.Datum) bool {
	for _, p := range picks {
		m := s.sources.byName[p.Source].mesh
		for _, l := range s.loopsOf(p) {
			if l.Closed && turnsRound(m, l.Vertices, d) != 0 {
				return true
			}
		}
	}
	return false
}

// loopsOf returns the pick's loops and the rims of its patch.
func (s *Session) loopsOf(p Pick) []Loop {
	loops := slices.Clone(p.Loops)
	if len(p.Triangles) > 0 {
		for _, l := range s.sources.byName[p.Source].mesh.Topology().Outline(p.Triangles) {
			loops = append(loops, Loop{Vertices: l.Vertices, Closed: true})
		}
	}
	return loops
}

// turnsRound returns how often a closed loop runs round the datum's axis.
func turnsRound(m *mesh.Mesh, loop []int32, d fit.Datum) int {
	u := kinematics.Perpendicular(d.Axis)
	v := r3.Cross(d.Axis, u)
	angle := func(i int) float64 {
		q := r3.Sub(m.Vertices()[loop[i%len(loop)]], d.Origin)
		return math.Atan2(r3.Dot(q, v), r3.Dot(q, u))
	}
	sum := 0.0
	for i := range loop {
		sum += math.Remainder(angle(i+1)-angle(i), 2*math.Pi)
	}
	return int(math.Round(sum / (2 * math.Pi)))
}

// fitTwoLoops runs an axis through the centres of two loops.
func (s *Session) fitTwoLoops(picks []Pick) (fit.Datum, error) {
	var rings [][]r3.Vec
	arc := 2 * math.Pi
	for _, p := range picks {
		m, err := s.checkPick(p)
		if err != nil {
			return fit.Datum{}, err
		}
		for _, l := range p.Loops {
			points := fit.FromLoop(m, mesh.Loop{Vertices: l.Vertices})
			rings = append(rings, points)
			if l.Closed {
				continue
			}
			ring, err := fit.LoopCentre(points, false)
			if err != nil {
				return fit.Datum{}, fmt.Errorf("loop %d: %w", len(rings), err)
			}
			arc = min(arc, ring.Arc)
		}
	}
	if len(rings) != 2 {
		return fit.Datum{}, fmt.Errorf("an axis through two loops needs two loops, %d are picked", len(rings))
	}
	d, err := fit.AxisThroughLoops(rings[0], rings[1])
	d.Arc = min(d.Arc, arc) // the two count as closed there
	return d, err
}

// fitTwoPoints runs an axis through two vertices.
func (s *Session) fitTwoPoints(picks []Pick) (fit.Datum, error) {
	var points []r3.Vec
	for _, p := range picks {
		m, err := s.checkPick(p)
		if err != nil {
			return fit.Datum{}, err
		}
		for _, v := range p.Vertices {
			points = append(points, m.Vertices()[v])
		}
	}
	if len(points) != 2 {
		return fit.Datum{}, fmt.Errorf("an axis through two points needs two vertices, %d are picked", len(points))
	}
	return fit.LineThrough(points[0], points[1])
}

// fitEdge runs an axis along a picked edge.
func (s *Session) fitEdge(picks []Pick) (fit.Datum, error) {
	var ends [][2]r3.Vec
	for _, p := range picks {
		m, err := s.checkPick(p)
		if err != nil {
			return fit.Datum{}, err
		}
		for _, e := range p.Edges {
			ends = append(ends, [2]r3.Vec{m.Vertices()[e[0]], m.Vertices()[e[1]]})
		}
	}
	if len(ends) != 1 {
		return fit.Datum{}, fmt.Errorf("an axis along an edge needs one edge, %d are picked", len(ends))
	}
	return fit.LineThrough(ends[0][0], ends[0][1])
}

// Suggest returns the recipe that suits what is picked: the simplest shape
// that the picked faces agree with, an axis through two loops, two points or
// along an edge, a circle through more points.
func (s *Session) Suggest(picks []Pick) (DatumRecipe, error) {
	picks = mergePicks(picks)
	var vertices, edges, loops, faces int
	for _, p := range picks {
		if _, err := s.checkPick(p); err != nil {
			return DatumRecipe{}, err
		}
		vertices, edges = vertices+len(p.Vertices), edges+len(p.Edges)
		loops, faces = loops+len(p.Loops), faces+len(p.Triangles)
	}
	shape := func(k fit.Kind) (DatumRecipe, error) { return DatumRecipe{Method: LeastSquares, Shape: k}, nil }
	switch {
	case faces > 0:
		r, err := s.simplestShape(picks)
		if err == nil && r.Shape == fit.Plane {
			r.Shape = s.planeOrRim(picks)
		}
		return r, err
	case loops == 2 && vertices+edges == 0:
		return DatumRecipe{Method: TwoLoops}, nil
	case loops > 2:
		return shape(fit.Cylinder)
	case edges == 1 && loops+vertices == 0:
		return DatumRecipe{Method: EdgeLine}, nil
	case vertices == 2 && loops+edges == 0:
		return DatumRecipe{Method: TwoPoints}, nil
	case loops > 0 || edges > 1 || vertices > 2:
		return shape(fit.Circle)
	case vertices == 1:
		return shape(fit.Point)
	}
	return DatumRecipe{}, errors.New("nothing is picked")
}

// simplestShape returns the simplest surface that agrees with the picked faces,
// of those whose form error and lean of normals are not clearly worse than the
// best one's.
func (s *Session) simplestShape(picks []Pick) (DatumRecipe, error) {
	points, normals, err := s.cloud(picks)
	if err != nil {
		return DatumRecipe{}, err
	}
	kinds := [...]fit.Kind{fit.Plane, fit.Cylinder, fit.Cone, fit.Sphere, fit.Torus}
	var form, lean [len(kinds)]float64
	bestLean, first := math.Inf(1), error(nil)
	for i, k := range kinds {
		d, err := fit.Fit(k, points, fit.Options{Normals: normals})
		form[i], lean[i] = d.FormError, leanOf(points, normals, d)
		if err != nil {
			form[i], lean[i] = math.Inf(1), math.Inf(1)
			if first == nil {
				first = err
			}
		}
		bestLean = min(bestLean, lean[i])
	}
	if math.IsInf(bestLean, 1) {
		return DatumRecipe{}, first
	}
	// Points alone do not tell: a torus goes through the two rings of a cylinder
	// that is not quite round. Only shapes that face as the picked faces do are
	// in the running.
	const moreLean = 0.1
	bestForm := math.Inf(1)
	for i := range kinds {
		if lean[i] <= bestLean+moreLean {
			bestForm = min(bestForm, form[i])
		}
	}
	// Twice the best form error is noise; a ten-thousandth of the size is what
	// a coarse export leaves.
	const worse, coarse = 2, 1e-4
	limit := worse*bestForm + coarse*extentOf(points)
	i := 0
	for lean[i] > bestLean+moreLean || form[i] > limit {
		i++ // the one of best form ends this
	}
	return DatumRecipe{Method: LeastSquares, Shape: kinds[i]}, nil
}

// leanOf returns the root mean square angle between the normals and the
// datum's, whichever way they point.
func leanOf(points, normals []r3.Vec, d fit.Datum) float64 {
	sum, n := 0.0, 0.0
	for i, v := range normals {
		if v == (r3.Vec{}) {
			continue
		}
		a := kinematics.Angle(v, d.Normal(points[i]))
		a = min(a, math.Pi-a)
		sum += a * a
		n++
	}
	return math.Sqrt(sum / max(n, 1))
}

// HingeAxis returns the line that a datum gives a hinge. It fails for a datum
// without direction.
func HingeAxis(d fit.Datum) (kinematics.Axis, error) {
	if d.Axis == (r3.Vec{}) {
		return kinematics.Axis{}, fmt.Errorf("a %s has no direction for a hinge: pick two loops, a turned face or an edge as well", d.Kind)
	}
	return kinematics.NewAxis(d.Origin, d.Axis)
}
