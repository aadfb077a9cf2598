package doc

import (
	"encoding/json"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc/wire"
)

// Severity says how much a finding matters.
type Severity string

// The severities: stop asks for a mend before anything is handed over, check for
// a look, note just tells.
const (
	Stop  Severity = "stop"
	Check Severity = "check"
	Note  Severity = "note"
)

// FindingKind names what a finding is about, for machines.
type FindingKind string

// The kinds of findings.
const (
	ModelChanged   FindingKind = "model_changed"   // the file is not the one the document was made for
	ModelMended    FindingKind = "model_mended"    // the reader left something out
	PickLost       FindingKind = "pick_lost"       // the model no longer has what was picked
	ShortArc       FindingKind = "short_arc"       // the housing covers too little of a turn
	AxisUnsure     FindingKind = "axis_unsure"     // the axis is known poorly
	DatumRough     FindingKind = "datum_rough"     // the housing is far from its shape
	RadialRunout   FindingKind = "radial_runout"   // the housing wobbles sideways
	AxialRunout    FindingKind = "axial_runout"    // the housing wobbles along the hinge
	OffHousing     FindingKind = "off_housing"     // the hinge is not on the housing's own axis
	RestOverlap    FindingKind = "rest_overlap"    // parts overlap as modelled
	RangeBlocked   FindingKind = "range_blocked"   // limits reach past the first contact
	RangeCoupled   FindingKind = "range_coupled"   // a driver takes the joint past its limits
	NotAccepted    FindingKind = "not_accepted"    // nobody has agreed to the joint yet
	LoopStuck      FindingKind = "loop_stuck"      // the joint's loop cannot move as its axes are
	LoopOpens      FindingKind = "loop_opens"      // the joint's loop does not quite close where it goes
	LoopStops      FindingKind = "loop_stops"      // limits reach past where the loop lets the joint go
	LoopMeets      FindingKind = "loop_meets"      // parts meet on the loop's way
	LoopApart      FindingKind = "loop_apart"      // parts that a loop moves along were left out of a proof
	MotionUnproven FindingKind = "motion_unproven" // the motion could not be computed
	NothingFound   FindingKind = "nothing_found"   // two parts show no joint, or a part is joined to nothing
)

// Finding is a fact worth acting on, with its number and the geometry that it
// is about.
type Finding struct {
	Severity Severity
	Kind     FindingKind
	Text     string // one sentence, with numbers and units, that names the remedy
	Joint    string // the joint it is about, or ""
	Parts    []string
	Value    float64 // the number; an angle in radians where Unit is Angle
	Limit    float64 // what Value was held against; NaN where there is nothing
	Unit     ValueUnit
	Points   []r3.Vec // where, in model units and axes, as modelled
}

// ValueUnit says what a finding's numbers are.
type ValueUnit string

// The units of a finding's numbers.
const (
	NoValue ValueUnit = ""
	Length  ValueUnit = "length" // model units
	Angle   ValueUnit = "angle"  // radians; degrees in JSON
)

// Worst returns the highest severity among the findings, Note for none.
func Worst(list []Finding) Severity {
	worst := Note
	for _, f := range list {
		switch {
		case f.Severity == Stop:
			return Stop
		case f.Severity == Check:
			worst = Check
		}
	}
	return worst
}

type findingForm struct {
	Severity Severity    `json:"severity"`
	Kind     FindingKind `json:"kind"`
	Text     string      `json:"text"`
	Joint    string      `json:"joint,omitempty"`
	Parts    []string    `json:"parts,omitempty"`
	Value    any         `json:"value"`
	Limit    any         `json:"limit"`
	Unit     string      `json:"unit,omitempty"`
	Points   []wire.Vec  `json:"points,omitempty"`
}

// MarshalJSON writes the finding with angles in degrees.
func (f Finding) MarshalJSON() ([]byte, error) {
	form := findingForm{
		Severity: f.Severity, Kind: f.Kind, Text: f.Text, Joint: f.Joint, Parts: f.Parts,
		Value: wire.Num(f.Value), Limit: wire.Num(f.Limit), Unit: string(f.Unit),
	}
	switch f.Unit {
	case Angle:
		form.Value, form.Limit, form.Unit = wire.Deg(f.Value), wire.Deg(f.Limit), "degree"
	case NoValue:
		form.Value, form.Limit = nil, nil
	}
	for _, p := range f.Points {
		form.Points = append(form.Points, wire.Vec(p))
	}
	return json.Marshal(form)
}
