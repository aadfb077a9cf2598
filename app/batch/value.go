package batch

import (
	"math"

	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// jointValue is a joint value: degrees in JSON where it turns, else model units,
// null where there is none.
type jointValue struct {
	v     float64
	turns bool
}

// MarshalJSON writes the number or null.
func (j jointValue) MarshalJSON() ([]byte, error) {
	if j.turns {
		return wire.Deg(j.v).MarshalJSON()
	}
	return wire.Num(j.v).MarshalJSON()
}

func (j jointValue) text(unit mesh.Unit) string {
	if j.turns {
		return angle(j.v)
	}
	return length(j.v, unit)
}

func (j jointValue) orFree(unit mesh.Unit) string {
	if math.IsInf(j.v, 0) || math.IsNaN(j.v) {
		return "free"
	}
	return j.text(unit)
}

func newRangeAnswer(f kinematics.Freedom, r kinematics.Range) rangeAnswer {
	return rangeAnswer{Lower: jointValue{r.Lower, f.Turns}, Upper: jointValue{r.Upper, f.Turns}}
}

// valueAt says where a joint stands: an angle, or the travel of a slider.
type valueAt struct {
	Angle  *wire.Deg `json:"angle,omitempty"`
	Travel *wire.Num `json:"travel,omitempty"`
	at     jointValue
}

func newValueAt(f kinematics.Freedom, v float64) valueAt {
	out := valueAt{at: jointValue{v, f.Turns}}
	if f.Turns {
		a := wire.Deg(v)
		out.Angle = &a
	} else {
		t := wire.Num(v)
		out.Travel = &t
	}
	return out
}
