package wire

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/kinematics"
)

// Datum is a fitted datum with the values that its shape has.
type Datum struct {
	Shape     fit.Kind `json:"shape"`
	Point     Vec      `json:"point"`
	Axis      *Vec     `json:"axis,omitempty"`
	Radius    *Num     `json:"radius,omitempty"`
	Radius2   *Num     `json:"radius2,omitempty"`
	HalfAngle *Deg     `json:"half_angle,omitempty"`
	Extent    *[2]Num  `json:"extent,omitempty"`
	RMS       Num      `json:"rms"`
	FormError Num      `json:"form_error"`
	Arc       Deg      `json:"arc"`
	Sigma     Sigma    `json:"sigma"`
	Count     int      `json:"count"`
	Rejected  int      `json:"rejected"`
	Sagitta   Num      `json:"sagitta"`
}

// Sigma is one standard deviation of a datum's axis, point and radius, and of
// what else its shape has.
type Sigma struct {
	Axis      Deg  `json:"axis_deg"`
	Point     Num  `json:"point"`
	Radius    Num  `json:"radius"`
	Radius2   *Num `json:"radius2,omitempty"`
	HalfAngle *Deg `json:"half_angle_deg,omitempty"`
}

// has says which values a shape has.
type has struct{ axis, radius, radius2, halfAngle bool }

func shapeOf(k fit.Kind) (has, bool) {
	switch k {
	case fit.Point:
		return has{}, true
	case fit.Line, fit.Plane:
		return has{axis: true}, true
	case fit.Circle, fit.Cylinder:
		return has{axis: true, radius: true}, true
	case fit.Sphere:
		return has{radius: true}, true
	case fit.Cone:
		return has{axis: true, halfAngle: true}, true
	case fit.Torus:
		return has{axis: true, radius: true, radius2: true}, true
	}
	return has{}, false
}

// NewDatum returns the JSON form of d.
func NewDatum(d fit.Datum) Datum {
	w := Datum{
		Shape: d.Kind, Point: Vec(d.Origin),
		RMS: Num(d.RMS), FormError: Num(d.FormError), Arc: Deg(d.Arc),
		Sigma: Sigma{Axis: Deg(d.SigmaAxis), Point: Num(d.SigmaOrigin), Radius: Num(d.SigmaRadius)},
		Count: d.Count, Rejected: d.Rejected, Sagitta: Num(d.Sagitta),
	}
	h, _ := shapeOf(d.Kind)
	if h.axis {
		axis := Vec(d.Axis)
		w.Axis = &axis
		w.Extent = &[2]Num{Num(d.Extent[0]), Num(d.Extent[1])}
	}
	if h.radius {
		w.Radius = ptr(Num(d.Radius))
	}
	if h.radius2 {
		w.Radius2, w.Sigma.Radius2 = ptr(Num(d.Radius2)), ptr(Num(d.SigmaRadius2))
	}
	if h.halfAngle {
		w.HalfAngle, w.Sigma.HalfAngle = ptr(Deg(d.HalfAngle)), ptr(Deg(d.SigmaHalfAngle))
	}
	return w
}

// Datum returns the datum that w stands for; it fails where a value that the
// shape needs is missing, or a direction is not a unit vector.
func (w Datum) Datum() (fit.Datum, error) {
	h, ok := shapeOf(w.Shape)
	if !ok {
		return fit.Datum{}, fmt.Errorf("there is no datum of shape %q", w.Shape)
	}
	d := fit.Datum{
		Kind: w.Shape, Origin: r3.Vec(w.Point),
		Quality: fit.Quality{
			Count: w.Count, Rejected: w.Rejected,
			RMS: float64(w.RMS), FormError: float64(w.FormError), Arc: float64(w.Arc), Sagitta: float64(w.Sagitta),
			SigmaAxis: float64(w.Sigma.Axis), SigmaOrigin: float64(w.Sigma.Point), SigmaRadius: float64(w.Sigma.Radius),
		},
	}
	if h.radius2 {
		d.SigmaRadius2 = orNaN(float(w.Sigma.Radius2))
	}
	if h.halfAngle {
		d.SigmaHalfAngle = orNaN(float(w.Sigma.HalfAngle))
	}
	if w.Count < 0 || w.Rejected < 0 {
		return fit.Datum{}, fmt.Errorf("a %s's counts are negative", w.Shape)
	}
	if h.axis {
		if w.Axis == nil {
			return fit.Datum{}, fmt.Errorf("a %s has no axis", w.Shape)
		}
		if err := CheckUnit("axis", r3.Vec(*w.Axis)); err != nil {
			return fit.Datum{}, fmt.Errorf("a %s's %w", w.Shape, err)
		}
		d.Axis = r3.Vec(*w.Axis)
		if w.Extent != nil {
			d.Extent = [2]float64{float64(w.Extent[0]), float64(w.Extent[1])}
		}
	}
	for _, v := range []struct {
		needed bool
		name   string
		from   *float64
		to     *float64
	}{
		{h.radius, "radius", float(w.Radius), &d.Radius},
		{h.radius2, "radius2", float(w.Radius2), &d.Radius2},
		{h.halfAngle, "half_angle", float(w.HalfAngle), &d.HalfAngle},
	} {
		if !v.needed {
			continue
		}
		if v.from == nil || !(*v.from >= 0) {
			return fit.Datum{}, fmt.Errorf("a %s's %s is missing or negative", w.Shape, v.name)
		}
		*v.to = *v.from
	}
	return d, nil
}

// Frame is a joint frame: a point and two of its three directions.
type Frame struct {
	Origin Vec `json:"origin"`
	Hinge  Vec `json:"hinge"`
	Reach  Vec `json:"reach"`
}

// NewFrame returns the JSON form of f.
func NewFrame(f kinematics.Frame) Frame {
	return Frame{Origin: Vec(f.Origin), Hinge: Vec(f.Hinge), Reach: Vec(f.Reach)}
}

// Frame returns the frame; it fails where its directions are not unit vectors
// at right angles.
func (w Frame) Frame() (kinematics.Frame, error) {
	f := kinematics.Frame{Origin: r3.Vec(w.Origin), Hinge: r3.Vec(w.Hinge), Reach: r3.Vec(w.Reach)}
	if err := CheckUnit("hinge", f.Hinge); err != nil {
		return f, err
	}
	if err := CheckUnit("reach", f.Reach); err != nil {
		return f, err
	}
	if d := r3.Dot(f.Hinge, f.Reach); !(math.Abs(d) <= unitTolerance) {
		return f, fmt.Errorf("hinge and reach are not at right angles (their dot product is %.3g)", d)
	}
	return f, nil
}

// unitTolerance allows for digits lost by hand editing.
const unitTolerance = 1e-6

// CheckUnit fails unless v has a length of 1.
func CheckUnit(name string, v r3.Vec) error {
	if n := r3.Norm(v); !(math.Abs(n-1) <= unitTolerance) {
		return fmt.Errorf("%s has a length of %.9g where a unit vector is needed", name, n)
	}
	return nil
}

func ptr[T any](v T) *T { return &v }

func float[T ~float64](p *T) *float64 {
	if p == nil {
		return nil
	}
	v := float64(*p)
	return &v
}

// orNaN reads a number that null or a missing one leaves nil.
func orNaN(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}
