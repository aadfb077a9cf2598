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

// fitShape fits a shape to all picked vertices. Where faces are picked their
// normals help to find the right one of several solutions.
func (s *Session) fitShape(picks []Pick, r DatumRecipe) (fit.Datum, error) {
	points, normals, err := s.cloud(picks)
	if err != nil {
		return fit.Datum{}, err
	}
	o := fit.Options{Robust: r.Robust, Normals: normals}
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
		for _, t := range p.Triangles {
			n := m.AreaNormal(int(t))
			for _, v := range m.Triangles()[t] {
				i, _ := slices.BinarySearch(list, v)
				normals[start+i] = r3.Add(normals[start+i], n)
			}
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
	var rings []fit.Datum
	for _, p := range picks {
		m, err := s.checkPick(p)
		if err != nil {
			return fit.Datum{}, err
		}
		for _, l := range p.Loops {
			points := make([]r3.Vec, len(l.Vertices))
			for i, v := range l.Vertices {
				points[i] = m.Vertices()[v]
			}
			ring, err := fit.FitCircle(points, fit.Options{Closed: l.Closed})
			if err != nil {
				return fit.Datum{}, fmt.Errorf("loop %d: %w", len(rings)+1, err)
			}
			rings = append(rings, ring)
		}
	}
	if len(rings) != 2 {
		return fit.Datum{}, fmt.Errorf("an axis through two loops needs two loops, %d are picked", len(rings))
	}
	a, b := rings[0], rings[1]
	d, err := lineThrough(a.Origin, b.Origin)
	if err != nil {
		return fit.Datum{}, fmt.Errorf("the two loops have one centre: %w", err)
	}
	n, k := float64(a.Count), float64(b.Count)
	d.Count = a.Count + b.Count
	d.RMS = math.Sqrt((n*a.RMS*a.RMS + k*b.RMS*b.RMS) / (n + k))
	d.FormError = max(a.FormError, b.FormError)
	d.Arc, d.Sagitta = min(a.Arc, b.Arc), max(a.Sagitta, b.Sagitta)
	// The centres are known independently of each other.
	both := math.Hypot(a.SigmaOrigin, b.SigmaOrigin)
	d.SigmaOrigin, d.SigmaAxis = both/2, both/(d.Extent[1]-d.Extent[0])
	return d, nil
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
	return lineThrough(points[0], points[1])
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
	return lineThrough(ends[0][0], ends[0][1])
}

// lineThrough returns the line from a to b with their midpoint as its point.
// Nothing is left over to tell how well it is known.
func lineThrough(a, b r3.Vec) (fit.Datum, error) {
	axis, err := kinematics.AxisThrough(a, b)
	if err != nil {
		return fit.Datum{}, err
	}
	nan, half := math.NaN(), r3.Norm(r3.Sub(b, a))/2
	return fit.Datum{
		Kind: fit.Line, Origin: r3.Add(a, r3.Scale(0.5, r3.Sub(b, a))), Axis: axis.Dir, Extent: [2]float64{-half, half},
		Quality: fit.Quality{Count: 2, Arc: 2 * math.Pi, SigmaAxis: nan, SigmaOrigin: nan, SigmaRadius: nan},
	}, nil
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
		return s.simplestShape(picks)
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

// simplestShape returns the first of plane, cylinder, cone, sphere and torus
// whose form error is not clearly worse than the best of them.
func (s *Session) simplestShape(picks []Pick) (DatumRecipe, error) {
	points, normals, err := s.cloud(picks)
	if err != nil {
		return DatumRecipe{}, err
	}
	box := r3.NewBox(points[0].X, points[0].Y, points[0].Z, points[0].X, points[0].Y, points[0].Z)
	for _, p := range points {
		box = box.Union(r3.NewBox(p.X, p.Y, p.Z, p.X, p.Y, p.Z))
	}
	// Twice the best form error is noise; a ten-thousandth of the size is what
	// a coarse export leaves.
	const worse, coarse = 2, 1e-4
	kinds := [...]fit.Kind{fit.Plane, fit.Cylinder, fit.Cone, fit.Sphere, fit.Torus}
	form := make([]float64, len(kinds))
	best, first := math.Inf(1), error(nil)
	for i, k := range kinds {
		d, err := fit.Fit(k, points, fit.Options{Normals: normals})
		form[i] = d.FormError
		if err != nil {
			form[i] = math.Inf(1)
			if first == nil {
				first = err
			}
		}
		best = min(best, form[i])
	}
	if math.IsInf(best, 1) {
		return DatumRecipe{}, first
	}
	limit := worse*best + coarse*r3.Norm(r3.Sub(box.Max, box.Min))
	for i, k := range kinds {
		if form[i] <= limit {
			return DatumRecipe{Method: LeastSquares, Shape: k}, nil
		}
	}
	return DatumRecipe{}, first // not reached: the best one is within the limit
}

// HingeAxis returns the line that a datum gives a hinge. It fails for a datum
// without direction.
func HingeAxis(d fit.Datum) (kinematics.Axis, error) {
	if d.Axis == (r3.Vec{}) {
		return kinematics.Axis{}, fmt.Errorf("a %s has no direction for a hinge: pick two loops, a turned face or an edge as well", d.Kind)
	}
	return kinematics.NewAxis(d.Origin, d.Axis)
}

// Answer is one way to read a pick, beside the others.
type Answer struct {
	Label  string // what it is made from: "2 vertices", "loop 1", "faces"
	Recipe DatumRecipe
	Datum  fit.Datum
	Err    error // why there is none
	// Offset and Angle say how far it is from the first answer that has an axis:
	// of its point from that axis in model units, and between the axes in radians.
	// NaN where one of them has no axis.
	Offset, Angle float64
}

// Answers returns what each group of picked elements says by itself, and all
// together, so that a centre by two vertices, by a loop and by a surface can be
// compared before one is taken.
func (s *Session) Answers(picks []Pick) []Answer {
	picks = mergePicks(picks)
	var out []Answer
	add := func(label string, only ...Pick) {
		r, err := s.Suggest(only)
		a := Answer{Label: label, Recipe: r, Err: err, Offset: math.NaN(), Angle: math.NaN()}
		if err == nil {
			a.Datum, a.Err = s.FitPicks(only, r)
		}
		out = append(out, a)
	}
	groups := 0
	group := func(what func(Elements) Elements, label func(Elements) string) {
		var only []Pick
		var all Elements
		for _, p := range picks {
			if e := what(p.Elements); !e.Empty() {
				only = append(only, Pick{Source: p.Source, Elements: e})
				all.Vertices, all.Edges = append(all.Vertices, e.Vertices...), append(all.Edges, e.Edges...)
				all.Loops, all.Triangles = append(all.Loops, e.Loops...), append(all.Triangles, e.Triangles...)
			}
		}
		if len(only) > 0 {
			groups++
			add(label(all), only...)
		}
	}
	group(func(e Elements) Elements { return Elements{Triangles: e.Triangles} }, func(Elements) string { return "faces" })
	group(func(e Elements) Elements { return Elements{Loops: e.Loops} }, func(e Elements) string { return count(len(e.Loops), "loop") })
	n := 0
	for _, p := range picks {
		for _, l := range s.answerLoops(p) {
			n++
			add(fmt.Sprintf("loop %d alone", n), Pick{Source: p.Source, Elements: Elements{Loops: []Loop{l}}})
		}
	}
	group(func(e Elements) Elements { return Elements{Edges: e.Edges} }, func(e Elements) string { return count(len(e.Edges), "edge") })
	group(func(e Elements) Elements { return Elements{Vertices: e.Vertices} }, func(e Elements) string { return count(len(e.Vertices), "vertex") })
	if groups > 1 {
		add("everything picked", picks...)
	}
	compareAnswers(out)
	return out
}

// answerLoops returns the loops that speak for themselves: picked ones where
// there are several, else the rims of a patch.
func (s *Session) answerLoops(p Pick) []Loop {
	if len(p.Loops) > 1 || len(p.Loops) == 1 && len(p.Triangles) > 0 {
		return p.Loops
	}
	if _, err := s.checkPick(p); err != nil || len(p.Triangles) == 0 {
		return nil
	}
	const rims = 6 // more are holes and slots, not what the pick is about
	if loops := s.loopsOf(Pick{Source: p.Source, Elements: Elements{Triangles: p.Triangles}}); len(loops) <= rims {
		return loops
	}
	return nil
}

func count(n int, one string) string {
	switch {
	case n == 1:
		return "1 " + one
	case one == "vertex":
		return fmt.Sprintf("%d vertices", n)
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func compareAnswers(list []Answer) {
	first := slices.IndexFunc(list, func(a Answer) bool { return a.Err == nil && a.Datum.Axis != r3.Vec{} })
	if first < 0 {
		return
	}
	ref, err := HingeAxis(list[first].Datum)
	if err != nil {
		return
	}
	for i := range list {
		a := &list[i]
		if a.Err != nil {
			continue
		}
		off := kinematics.AxisErrorOf(ref, kinematics.Axis{Point: a.Datum.Origin, Dir: a.Datum.Axis})
		a.Offset = off.Offset
		if a.Datum.Axis != (r3.Vec{}) {
			a.Angle = off.Angle
		}
	}
}
