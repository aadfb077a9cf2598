package doc

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"

	"pintle/app/doc/wire"
	"pintle/kinematics"
)

// limitsForm holds a range for each freedom; an end that does not exist is
// null. Version 1 wrote one object instead of the list.
type limitsForm []rangeForm

type rangeForm struct {
	Lower wire.Num `json:"lower"`
	Upper wire.Num `json:"upper"`
}

// UnmarshalJSON reads the list, or the one object of version 1.
func (f *limitsForm) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if len(data) > 0 && data[0] == '{' {
		*f = make(limitsForm, 1)
		if err := d.Decode(&(*f)[0]); err != nil {
			return fmt.Errorf("read limits: %w", err)
		}
		return nil
	}
	var list []rangeForm
	if err := d.Decode(&list); err != nil {
		return fmt.Errorf("read limits: %w", err)
	}
	*f = list
	return nil
}

// UnmarshalJSON reads both ends, neither of which may be missing.
func (f *rangeForm) UnmarshalJSON(data []byte) error {
	var ends struct {
		Lower *json.RawMessage `json:"lower"`
		Upper *json.RawMessage `json:"upper"`
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&ends); err != nil {
		return fmt.Errorf("a range: %w", err)
	}
	for _, e := range []struct {
		from *json.RawMessage
		to   *wire.Num
	}{{ends.Lower, &f.Lower}, {ends.Upper, &f.Upper}} {
		*e.to = wire.Num(math.NaN())
		if e.from == nil { // null, or not there
			continue
		}
		if err := e.to.UnmarshalJSON(*e.from); err != nil {
			return fmt.Errorf("a range: %w", err)
		}
	}
	return nil
}

func newLimitsForm(j Joint) limitsForm {
	var f limitsForm
	for i, r := range j.Limits {
		k := j.Kind.Freedom(i)
		f = append(f, rangeForm{Lower: wire.Num(toFile(k, r.Lower)), Upper: wire.Num(toFile(k, r.Upper))})
	}
	return f
}

// ranges returns the limits of a joint of kind k. Limits of a fixed joint, which
// version 1 could hold, are dropped.
func (f limitsForm) ranges(k kinematics.Kind) []kinematics.Range {
	if k == kinematics.Fixed {
		return nil
	}
	var out []kinematics.Range
	for i, r := range f {
		lower, upper := fromFile(k.Freedom(i), float64(r.Lower)), fromFile(k.Freedom(i), float64(r.Upper))
		if math.IsNaN(lower) {
			lower = math.Inf(-1)
		}
		if math.IsNaN(upper) {
			upper = math.Inf(1)
		}
		out = append(out, kinematics.Range{Lower: lower, Upper: upper})
	}
	return out
}

// ConeToFile returns a cone's bounds as files hold them, nil for no cone.
func ConeToFile(c *kinematics.Cone) []wire.Deg {
	if c == nil {
		return nil
	}
	out := make([]wire.Deg, len(c.Max))
	for i, m := range c.Max {
		out[i] = wire.Deg(m)
	}
	return out
}

func coneOf(f []wire.Deg) *kinematics.Cone {
	if f == nil {
		return nil
	}
	c := &kinematics.Cone{Max: make([]float64, len(f))}
	for i, m := range f {
		c.Max[i] = float64(m)
	}
	return c
}

type poseForm struct {
	Name   string      `json:"name"`
	Values []valueForm `json:"values"`
}

// valueForm is where a joint stands: a list of values, or the one value of
// version 1.
type valueForm struct {
	Joint  string     `json:"joint"`
	Values []wire.Num `json:"values,omitempty"`
	Value  *wire.Num  `json:"value,omitempty"`
}

func newPoseForm(p Pose, kinds map[string]kinematics.Kind) poseForm {
	f := poseForm{Name: p.Name, Values: make([]valueForm, len(p.Values))}
	for k, v := range p.Values {
		values := make([]wire.Num, len(v.Values))
		for i, x := range v.Values {
			values[i] = wire.Num(toFile(kinds[v.Joint].Freedom(i), x))
		}
		f.Values[k] = valueForm{Joint: v.Joint, Values: values}
	}
	return f
}

func (f poseForm) pose(kinds map[string]kinematics.Kind) (Pose, error) {
	pose := Pose{Name: f.Name}
	for _, v := range f.Values {
		if v.Value != nil {
			if v.Values != nil {
				return pose, fmt.Errorf("pose %q: joint %q has both a value and values", f.Name, v.Joint)
			}
			v.Values = []wire.Num{*v.Value}
		}
		values := make([]float64, len(v.Values))
		for i, x := range v.Values {
			values[i] = fromFile(kinds[v.Joint].Freedom(i), float64(x))
		}
		if n := kinds[v.Joint].Freedoms(); n == 0 && len(values) == 1 { // version 1 could hold one of a fixed joint
			values = nil
		}
		pose.Values = append(pose.Values, JointValue{Joint: v.Joint, Values: values})
	}
	return pose, nil
}

// refForm is a joint value; the first freedom is not named.
type refForm struct {
	Joint   string `json:"joint"`
	Freedom int    `json:"freedom,omitempty"`
}

// couplingForm is a coupling in degrees and model units: the ratio is the
// follower's per unit of the driver.
type couplingForm struct {
	Follower refForm            `json:"follower"`
	Driver   refForm            `json:"driver"`
	Law      kinematics.LawKind `json:"law"`
	Ratio    *float64           `json:"ratio,omitempty"`
	Offset   float64            `json:"offset,omitempty"`
	Curve    [][]wire.Num       `json:"curve,omitempty"`
}

func newCouplingForm(c Coupling, kinds map[string]kinematics.Kind) couplingForm {
	driver, follower := freedomOf(c.Driver, kinds), freedomOf(c.Follower, kinds)
	f := couplingForm{
		Follower: refForm(c.Follower), Driver: refForm(c.Driver), Law: c.Law.Kind,
		Offset: toFile(follower, c.Law.Offset),
	}
	if c.Law.Kind != kinematics.LawCurve {
		r := RatioToFile(c.Law.Ratio, driver, follower)
		f.Ratio = &r
	}
	for _, p := range c.Law.Curve {
		f.Curve = append(f.Curve, []wire.Num{wire.Num(toFile(driver, p.Driver)), wire.Num(toFile(follower, p.Follower))})
	}
	return f
}

func (f couplingForm) coupling(kinds map[string]kinematics.Kind) (Coupling, error) {
	c := Coupling{Driver: ValueRef(f.Driver), Follower: ValueRef(f.Follower), Law: kinematics.Law{Kind: f.Law}}
	driver, follower := freedomOf(c.Driver, kinds), freedomOf(c.Follower, kinds)
	c.Law.Offset = fromFile(follower, f.Offset)
	switch {
	case f.Ratio != nil:
		c.Law.Ratio = RatioFromFile(*f.Ratio, driver, follower)
	case f.Law != kinematics.LawCurve:
		return c, fmt.Errorf("the coupling of joint %q has no ratio", f.Follower.Joint)
	}
	for _, p := range f.Curve {
		if len(p) != 2 {
			return c, fmt.Errorf("the coupling of joint %q: a point of its curve has %d numbers: give two, driver and follower", f.Follower.Joint, len(p))
		}
		c.Law.Curve = append(c.Law.Curve, kinematics.CurvePoint{Driver: fromFile(driver, float64(p[0])), Follower: fromFile(follower, float64(p[1]))})
	}
	return c, nil
}

func freedomOf(v ValueRef, kinds map[string]kinematics.Kind) kinematics.Freedom {
	return kinds[v.Joint].Freedom(v.Freedom)
}

// RatioToFile turns a law's ratio per radian into one per degree, or of radians
// into one of degrees, where only one of the two values turns.
func RatioToFile(r float64, driver, follower kinematics.Freedom) float64 {
	switch {
	case follower.Turns && !driver.Turns:
		return wire.Degrees(r)
	case driver.Turns && !follower.Turns:
		return kinematics.Radians(r)
	}
	return r
}

// RatioFromFile is the inverse of RatioToFile.
func RatioFromFile(r float64, driver, follower kinematics.Freedom) float64 {
	switch {
	case follower.Turns && !driver.Turns:
		return kinematics.Radians(r)
	case driver.Turns && !follower.Turns:
		return kinematics.Degrees(r)
	}
	return r
}
