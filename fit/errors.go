package fit

import "fmt"

// CountError says that there are fewer points than the datum has unknowns.
type CountError struct {
	Kind       Kind
	Have, Need int
}

func (e *CountError) Error() string {
	return fmt.Sprintf("a %s needs at least %d points, got %d: pick more of the surface", e.Kind, e.Need, e.Have)
}

// FiniteError says which point (or normal) is not finite or, for a point,
// beyond 1e290.
type FiniteError struct {
	Index int
	What  string // "point" or "normal"
	Value [3]float64
}

func (e *FiniteError) Error() string {
	return fmt.Sprintf("%s %d is not finite, or out of range: (%g, %g, %g)", e.What, e.Index, e.Value[0], e.Value[1], e.Value[2])
}

// DegenerateError says that the points, although enough in number, do not
// determine the datum.
type DegenerateError struct {
	Kind   Kind
	Reason string
	// Measure is the number that the reason rests on: a ratio of extents, of
	// singular values, or of a quantity to its own uncertainty.
	Measure float64
}

func (e *DegenerateError) Error() string {
	return fmt.Sprintf("the points do not determine a %s: %s (%.3g)", e.Kind, e.Reason, e.Measure)
}

// AmbiguousError says that several datums of the same kind fit equally well.
type AmbiguousError struct {
	Kind   Kind
	Datums []Datum // the equals, in a fixed order
}

func (e *AmbiguousError) Error() string {
	return fmt.Sprintf("%d different datums of kind %s fit the points equally well: give normals, a start or more points", len(e.Datums), e.Kind)
}

// ConvergeError says that the iteration gave up, and where.
type ConvergeError struct {
	Iterations int
	RMS        float64 // of the residuals at the best state found
	Step       float64 // length of the last change of the residuals, relative to the residuals
}

func (e *ConvergeError) Error() string {
	return fmt.Sprintf("least squares gave up after %d iterations at residual RMS %.6g, last relative change %.3g", e.Iterations, e.RMS, e.Step)
}

// OptionError says which option contradicts the points or the kind.
type OptionError struct {
	Option string
	Reason string
}

func (e *OptionError) Error() string { return fmt.Sprintf("fit option %s: %s", e.Option, e.Reason) }

// KindError says that a datum kind is not known or not fit for the question.
type KindError struct {
	Kind   Kind
	Reason string
}

func (e *KindError) Error() string { return fmt.Sprintf("datum kind %q: %s", string(e.Kind), e.Reason) }
