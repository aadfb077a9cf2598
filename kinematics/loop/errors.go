package loop

import "fmt"

// LinkageError reports joints that make no linkage.
type LinkageError struct {
	Joint  string // the joint it is about, quoted, or ""
	Reason string // what is wrong and what would be right
	Err    error  // the cause, or nil
}

func (e *LinkageError) Error() string {
	text := e.Reason
	if e.Joint != "" {
		text = "joint " + e.Joint + ": " + text
	}
	if e.Err != nil {
		return fmt.Sprintf("%s: %v", text, e.Err)
	}
	return text
}

// Unwrap returns the cause.
func (e *LinkageError) Unwrap() error { return e.Err }

// ValuesError reports joint values that are too many, too few or not finite.
type ValuesError struct {
	What  string // which values
	Have  int    // how many, or the number of the one that is not finite
	Want  int    // how many there must be, or -1 where one is not finite
	Value float64
}

func (e *ValuesError) Error() string {
	if e.Want < 0 {
		return fmt.Sprintf("%s %d is %g: give finite values", e.What, e.Have, e.Value)
	}
	return fmt.Sprintf("%d %ss were given, the linkage takes %d", e.Have, e.What, e.Want)
}

// ClosureError reports driver values at which a loop cannot close.
type ClosureError struct {
	Driver int     // the value that was asked for
	Drive  float64 // what it was asked to be
	Stop   Stop    // how far it goes
	// Over is by how much the freedom Stop.Value would pass its limit, signed, or
	// how wide the loop would gape, in model units; NaN where unknown.
	Over float64
	text string
}

func (e *ClosureError) Error() string { return e.text }

// OpenError reports a loop that stands open by more than is tolerated.
type OpenError struct {
	Joint  string  // the joint that should close it, quoted
	Angle  float64 // radians
	Length float64 // model units
	text   string
}

func (e *OpenError) Error() string {
	return fmt.Sprintf("the loop is open by %s at %s: look at the axes of its joints, or start from a pose that closes it", e.text, e.Joint)
}
