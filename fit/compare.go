package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Pick is what a user selected, as points in model units; the parts that do
// not apply stay empty.
type Pick struct {
	// Loop is the ordered vertices of an edge loop.
	Loop []r3.Vec
	// Open says that the loop does not close.
	Open bool
	// Opposite is two vertices taken for opposite ones. Left nil, vertices 0
	// and n/2 of a loop are taken.
	Opposite *[2]r3.Vec
	// Patch and Normals are the vertices of a face patch, as from FromPatch.
	Patch, Normals []r3.Vec
	// Surface is the kind fitted to the patch; empty means Cylinder.
	Surface Kind
	// Robust fits loop and patch without their outliers.
	Robust bool
}

// Alternative is one answer to where a pick's centre or axis is.
type Alternative struct {
	Name  string
	Datum Datum
	Err   error // why this answer is not to be had; Datum is zero then
}

// Difference says how far two alternatives, by their index, lie apart.
type Difference struct {
	A, B   int
	Offset float64 // between the centres, model units; see Datum.Offset
	Angle  float64 // between the axes, radians; NaN if one has none
}

// Comparison is the alternatives for one pick side by side.
type Comparison struct {
	Alternatives []Alternative
	Differences  []Difference // every pair that was fitted, A < B
	Largest      float64      // largest Offset, model units
}

// The names of the alternatives.
const (
	OppositeVertices = "midpoint of opposite vertices"
	LoopCircle       = "loop centre"
	LoopArea         = "area centroid"
	PatchSurface     = "patch " // followed by the surface's kind
)

// Compare answers a pick in every way that applies: the midpoint of two
// opposite vertices, the centre of the circle through the loop, the centroid
// of the area it bounds and the axis or centre of the surface through the
// patch. It fails with an OptionError for an empty pick; an alternative that
// fails says so itself.
func Compare(p Pick) (Comparison, error) {
	var c Comparison
	add := func(name string, d Datum, err error) {
		if err != nil {
			d = Datum{}
		}
		c.Alternatives = append(c.Alternatives, Alternative{Name: name, Datum: d, Err: err})
	}
	if n := len(p.Loop); p.Opposite != nil || n >= 2 {
		if p.Opposite == nil {
			p.Opposite = &[2]r3.Vec{p.Loop[0], p.Loop[n/2]}
		}
		d, err := Midpoint(p.Opposite[0], p.Opposite[1])
		add(OppositeVertices, d, err)
	}
	if len(p.Loop) > 0 {
		d, err := FitCircle(p.Loop, Options{Closed: !p.Open, Robust: p.Robust})
		add(LoopCircle, d, err)
		if !p.Open {
			d, err = AreaCentroid(p.Loop)
			add(LoopArea, d, err)
		}
	}
	if len(p.Patch) > 0 {
		if p.Surface == "" {
			p.Surface = Cylinder
		}
		d, err := Fit(p.Surface, p.Patch, Options{Normals: p.Normals, Robust: p.Robust})
		add(PatchSurface+string(p.Surface), d, err)
	}
	if len(c.Alternatives) == 0 {
		return c, &OptionError{Option: "Pick", Reason: "holds neither a loop, nor two vertices, nor a patch"}
	}
	c.differ()
	return c, nil
}

func (c *Comparison) differ() {
	for j, b := range c.Alternatives {
		for i, a := range c.Alternatives[:j] {
			if a.Err != nil || b.Err != nil {
				continue
			}
			offset, angle := a.Datum.Offset(b.Datum)
			c.Differences = append(c.Differences, Difference{A: i, B: j, Offset: offset, Angle: angle})
			c.Largest = max(c.Largest, offset)
		}
	}
}

// Offset returns how far the centres of two datums lie apart, in model units,
// and the angle between their undirected axes, in radians (NaN if one has no
// axis). A line, cylinder or cone has no centre along its axis, so distance is
// measured perpendicular to it; between two such axes it is the larger of the
// distances of each Origin from the other axis. A plane is measured
// perpendicular to itself.
func (d Datum) Offset(e Datum) (offset, angle float64) {
	angle = math.NaN()
	if d.Axis != (r3.Vec{}) && e.Axis != (r3.Vec{}) {
		angle = lineAngle(d.Axis, e.Axis)
	}
	switch da, ea := d.endless(), e.endless(); {
	case da && ea:
		return max(d.across(e.Origin), e.across(d.Origin)), angle
	case da:
		return d.across(e.Origin), angle
	case ea:
		return e.across(d.Origin), angle
	}
	return r3.Norm(r3.Sub(d.Origin, e.Origin)), angle
}

// endless says whether the datum's Origin is one of many along it.
func (d Datum) endless() bool {
	return d.Kind == Line || d.Kind == Cylinder || d.Kind == Cone || d.Kind == Plane
}

// across is the distance of a point from the datum's axis, or from a plane.
func (d Datum) across(p r3.Vec) float64 {
	q := r3.Sub(p, d.Origin)
	if d.Kind == Plane {
		return math.Abs(r3.Dot(q, d.Axis))
	}
	return r3.Norm(r3.Cross(d.Axis, q))
}
