package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// shape is a kind that Rank tries, with its number of unknowns and of residual
// components of one point.
type shape struct {
	kind             Kind
	unknowns, across int
}

// shapes lists the kinds by rising number of unknowns.
func shapes() []shape {
	return []shape{
		{Point, 3, 3},
		{Plane, 3, 1},
		{Line, 4, 2},
		{Sphere, 4, 1},
		{Cylinder, 5, 1},
		{Circle, 6, 2},
		{Cone, 6, 1},
		{Torus, 7, 1},
	}
}

const (
	// clearlyBetter is the fraction that the RMS must fall below for a shape
	// with more unknowns to displace a simpler one: lobes and flats of a real
	// surface always let a richer shape fit a little better.
	clearlyBetter = 0.7
	// normalSlack is how much worse, in radians, a shape may agree with the
	// normals than the best shape does.
	normalSlack = 0.1
)

// Ranked is a datum with its description length.
type Ranked struct {
	Datum Datum
	// Length is n c ln(s/L) + p/2 ln n in nats, up to a constant of the
	// points: n points with c residual components of standard deviation s
	// each, against their overall RMS radius L, and p unknowns.
	Length float64
	// NormalMisfit is the RMS angle between the given normals and the
	// datum's, radians; zero without normals.
	NormalMisfit float64
}

// Rank fits every kind to the points and returns those that the points
// determine, the choice of Best first and the rest by rising Length. It fails
// only if none of them fits or the input is bad.
//
// The choice follows minimum description length (J. Rissanen 1978; in the
// geometric form of K. Kanatani, Uncertainty modeling and model selection for
// geometric inference, 2004): a curve explains two coordinates of each point
// and a surface one, so a ring of points is a circle although a plane fits it
// as well. s is never taken smaller than single-precision rounding, 1e-6 L. A
// shape with more unknowns must also bring the RMS below 70 % of that of the
// simpler one with the same c. Given normals, curves and points are left out,
// and so are shapes that agree with the normals more than 0.1 rad worse than
// the best shape.
func Rank(points []r3.Vec, o Options) ([]Ranked, error) {
	if len(points) == 0 {
		return nil, &CountError{Kind: Point, Have: 0, Need: 1}
	}
	c, err := newCloud(points, o.Normals)
	if err != nil {
		return nil, err
	}
	if o.Start != nil {
		return nil, &OptionError{Option: "Start", Reason: "is of one kind, but all kinds are tried"}
	}
	s := c.spread()
	size := r3.Norm(r3.Vec{X: s.value[0], Y: s.value[1], Z: s.value[2]}) / math.Sqrt(float64(len(points))) * c.scale
	var list []Ranked
	var first error
	for _, sh := range shapes() {
		if c.nx != nil && sh.across > 1 {
			continue
		}
		d, err := Fit(sh.kind, points, o)
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		list = append(list, rank(d, sh.unknowns, sh.across, size, len(points), c))
	}
	if len(list) == 0 {
		return nil, first
	}
	list = agreeing(list)
	best := 0
	for i := range list {
		if displaces(list[i], list[best]) {
			best = i
		}
	}
	choice := list[best]
	list = slices.Delete(list, best, best+1)
	slices.SortStableFunc(list, func(a, b Ranked) int { return compare(a.Length, b.Length) })
	return slices.Insert(list, 0, choice), nil
}

// Best returns the simplest kind of datum that explains the points, as Rank
// chooses it.
func Best(points []r3.Vec, o Options) (Datum, error) {
	list, err := Rank(points, o)
	if err != nil {
		return Datum{}, err
	}
	return list[0].Datum, nil
}

func rank(d Datum, unknowns, across int, size float64, n int, c *cloud) Ranked {
	r := Ranked{Datum: d}
	if size > 0 {
		s := max(d.RMS/math.Sqrt(float64(across))/size, tieRMS)
		r.Length = float64(d.Count*across)*math.Log(s) + 0.5*float64(unknowns)*math.Log(float64(n))
	}
	if c.nx != nil {
		r.NormalMisfit = c.normalMisfit(c.toUnit(d))
	}
	return r
}

// agreeing drops the shapes that contradict the normals.
func agreeing(list []Ranked) []Ranked {
	least := math.Inf(1)
	for _, r := range list {
		least = min(least, r.NormalMisfit)
	}
	return slices.DeleteFunc(list, func(r Ranked) bool { return r.NormalMisfit > least+normalSlack })
}

// displaces says whether the shape a, with at least as many unknowns, is
// preferred to b.
func displaces(a, b Ranked) bool {
	ka, kb := components(a.Datum.Kind), components(b.Datum.Kind)
	if ka == kb && a.Datum.Count <= b.Datum.Count && a.Datum.RMS > clearlyBetter*b.Datum.RMS {
		return false
	}
	return a.Length < b.Length
}

// components is the number of residual components of one point.
func components(k Kind) int {
	for _, s := range shapes() {
		if s.kind == k {
			return s.across
		}
	}
	return 0
}
