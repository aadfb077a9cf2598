package kinematics

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Radians returns the angle in radians.
func Radians(degrees float64) float64 { return degrees * (math.Pi / 180) }

// Degrees returns the angle in degrees. Of the numbers that Radians takes back
// to the same bits it returns the one with few decimals, so that a typed 33.3
// stays 33.3 after it has been through radians.
func Degrees(radians float64) float64 {
	d := radians * (180 / math.Pi)
	if math.Abs(d) < 1e6 {
		if short := math.Round(d*1e9) / 1e9; Radians(short) == radians {
			return short
		}
	}
	for _, near := range []float64{d, math.Nextafter(d, math.Inf(-1)), math.Nextafter(d, math.Inf(1))} {
		if Radians(near) == radians {
			return near
		}
	}
	return d
}

// The JSON forms: points and directions are arrays of three numbers in model
// axes, angles are degrees, what is at its default is left out.
type (
	axisJSON struct {
		Point     triple `json:"point"`
		Direction triple `json:"direction"`
	}
	referenceJSON struct {
		Kind      ReferenceKind `json:"kind,omitempty"`
		Point     *triple       `json:"point,omitempty"`
		Direction *triple       `json:"direction,omitempty"`
		Joint     string        `json:"joint,omitempty"`
		Feature   Feature       `json:"feature,omitempty"`
		World     Letter        `json:"world,omitempty"`
	}
	aimJSON struct { // angle in degrees
		Role  Role       `json:"role,omitempty"`
		At    *Reference `json:"at,omitempty"`
		Angle float64    `json:"angle,omitempty"`
	}
	specJSON struct {
		Datum Axis    `json:"datum"`
		Flip  bool    `json:"flip,omitempty"`
		Slide float64 `json:"slide,omitempty"`
		Reach *Aim    `json:"reach,omitempty"`
		Roll  *Aim    `json:"roll,omitempty"`
	}
)

// strict reads data into v and refuses names that v does not have: a mistyped
// one must not be left out quietly.
func strict(data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode(v)
}

// MarshalJSON writes {"point": [x, y, z], "direction": [x, y, z]}.
func (a Axis) MarshalJSON() ([]byte, error) {
	return json.Marshal(axisJSON{Point: triple(a.Point), Direction: triple(a.Dir)})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (a *Axis) UnmarshalJSON(data []byte) error {
	var j axisJSON
	if err := strict(data, &j); err != nil {
		return fmt.Errorf("read axis: %w", err)
	}
	*a = Axis{Point: r3.Vec(j.Point), Dir: r3.Vec(j.Direction)}
	return nil
}

// MarshalJSON writes the fields of the reference's kind.
func (r Reference) MarshalJSON() ([]byte, error) {
	j := referenceJSON{Kind: r.Kind}
	switch r.Kind {
	case FromPoint:
		p := triple(r.Point)
		j.Point = &p
	case FromDirection:
		d := triple(r.Dir)
		j.Direction = &d
	case FromJoint:
		j.Joint, j.Feature = r.Joint, r.Feature
	case FromWorld:
		j.World = r.World
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (r *Reference) UnmarshalJSON(data []byte) error {
	var j referenceJSON
	if err := strict(data, &j); err != nil {
		return fmt.Errorf("read frame reference: %w", err)
	}
	*r = Reference{Kind: j.Kind, Joint: j.Joint, Feature: j.Feature, World: j.World}
	if j.Point != nil {
		r.Point = r3.Vec(*j.Point)
	}
	if j.Direction != nil {
		r.Dir = r3.Vec(*j.Direction)
	}
	return nil
}

// MarshalJSON writes {"role", "at", "angle"} with the angle in degrees.
func (a Aim) MarshalJSON() ([]byte, error) {
	j := aimJSON{Role: a.Role, Angle: Degrees(a.Angle)}
	if a.At != (Reference{}) {
		j.At = &a.At
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (a *Aim) UnmarshalJSON(data []byte) error {
	var j aimJSON
	if err := strict(data, &j); err != nil {
		return fmt.Errorf("read frame aim: %w", err)
	}
	*a = Aim{Role: j.Role, Angle: Radians(j.Angle)}
	if j.At != nil {
		a.At = *j.At
	}
	return nil
}

// MarshalJSON writes the recipe with lengths in model units and angles in
// degrees. It fails where a number is not finite.
func (s FrameSpec) MarshalJSON() ([]byte, error) {
	j := specJSON{Datum: s.Datum, Flip: s.Flip, Slide: s.Slide}
	if s.Reach != (Aim{}) {
		j.Reach = &s.Reach
	}
	if s.Roll != (Aim{}) {
		j.Roll = &s.Roll
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what MarshalJSON writes. It checks the form alone; Build
// checks the meaning.
func (s *FrameSpec) UnmarshalJSON(data []byte) error {
	var j specJSON
	if err := strict(data, &j); err != nil {
		return fmt.Errorf("read frame recipe: %w", err)
	}
	*s = FrameSpec{Datum: j.Datum, Flip: j.Flip, Slide: j.Slide}
	if j.Reach != nil {
		s.Reach = *j.Reach
	}
	if j.Roll != nil {
		s.Roll = *j.Roll
	}
	return nil
}

// triple is a vector that reads and writes as an array of three numbers.
type triple r3.Vec

func (t triple) MarshalJSON() ([]byte, error) {
	return json.Marshal([3]float64{t.X, t.Y, t.Z})
}

func (t *triple) UnmarshalJSON(data []byte) error {
	var a []float64
	if err := json.Unmarshal(data, &a); err != nil {
		return err
	}
	if len(a) != 3 {
		return fmt.Errorf("a point or direction has %d numbers: give three", len(a))
	}
	*t = triple{X: a[0], Y: a[1], Z: a[2]}
	return nil
}
