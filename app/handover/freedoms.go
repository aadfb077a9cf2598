package handover

import (
	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/kinematics"
)

// SpecFreedom is one of a joint's freedoms with its limits, in the order of the
// joint's values.
type SpecFreedom struct {
	Motion string          `json:"motion"` // turn, slide, swing or twist
	About  kinematics.Role `json:"about"`  // hinge, reach or side: the direction that it is about or along
	Unit   string          `json:"unit"`   // degree or length
	Lower  wire.Num        `json:"lower"`  // null: not limited
	Upper  wire.Num        `json:"upper"`
}

func newFreedoms(j doc.Joint) []SpecFreedom {
	out := []SpecFreedom{}
	for i, f := range j.Kind.FreedomList() {
		limit, _ := j.Limit(i)
		s := SpecFreedom{
			Motion: f.Name, About: f.About, Unit: "length",
			Lower: wire.Num(value(f, limit.Lower)), Upper: wire.Num(value(f, limit.Upper)),
		}
		if f.Turns {
			s.Unit = "degree"
		}
		out = append(out, s)
	}
	return out
}

// newValue returns where a joint stands with a value for each freedom.
func newValue(k kinematics.Kind, v doc.JointValue) SpecValue {
	out := SpecValue{Joint: v.Joint, Values: make([]float64, max(k.Freedoms(), 0))}
	for i := range out.Values {
		if i < len(v.Values) {
			out.Values[i] = value(k.Freedom(i), v.Values[i])
		}
	}
	return out
}

// value returns a joint value in degrees where it is an angle.
func value(f kinematics.Freedom, v float64) float64 {
	if f.Turns {
		return wire.Degrees(v)
	}
	return v
}

// SpecCoupling makes a joint value follow another: follower = ratio x driver +
// offset, or a smooth curve through points that keeps between the values of
// neighbouring ones (Fritsch and Butland 1984). In degrees and model units.
type SpecCoupling struct {
	Follower SpecRef            `json:"follower"`
	Driver   SpecRef            `json:"driver"`
	Law      kinematics.LawKind `json:"law"`
	Ratio    *wire.Num          `json:"ratio,omitempty"`
	Offset   wire.Num           `json:"offset"`
	Curve    [][2]wire.Num      `json:"curve,omitempty"`
}

// SpecRef names a joint value: freedom counts from 0.
type SpecRef struct {
	Joint   string `json:"joint"`
	Freedom int    `json:"freedom"`
}

func newDrivers(d doc.Document) []SpecRef {
	out := []SpecRef{}
	for _, v := range d.Drivers {
		out = append(out, SpecRef(v))
	}
	return out
}

func newCouplings(d doc.Document) []SpecCoupling {
	out := []SpecCoupling{}
	for _, c := range d.Couplings {
		driver, follower := d.FreedomOf(c.Driver), d.FreedomOf(c.Follower)
		s := SpecCoupling{
			Follower: SpecRef(c.Follower), Driver: SpecRef(c.Driver), Law: c.Law.Kind,
			Offset: wire.Num(value(follower, c.Law.Offset)),
		}
		if c.Law.Kind != kinematics.LawCurve {
			r := wire.Num(doc.RatioToFile(c.Law.Ratio, driver, follower))
			s.Ratio = &r
		}
		for _, p := range c.Law.Curve {
			s.Curve = append(s.Curve, [2]wire.Num{wire.Num(value(driver, p.Driver)), wire.Num(value(follower, p.Follower))})
		}
		out = append(out, s)
	}
	return out
}
