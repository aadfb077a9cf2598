package meshio

import (
	"fmt"
	"strings"
)

// Error says in one sentence which file is at fault, where in it, what is
// wrong and what to do about it. Every refusal of a file's content is an
// *Error; only a cancelled context and a failing disk are not.
type Error struct {
	File   string // base name of the file
	Place  string // "line 12", "byte 96", "meshes[0].primitives[1]"; empty for the file as a whole
	What   string // what is wrong, without a full stop
	Remedy string // what to do, as an imperative; may be empty
	Err    error  // what lies beneath; may be nil
}

// Error returns the sentence.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Place != "" {
		b.WriteString(", ")
		b.WriteString(e.Place)
	}
	b.WriteString(": ")
	b.WriteString(e.What)
	if e.Remedy != "" {
		b.WriteString("; ")
		b.WriteString(e.Remedy)
	}
	return b.String()
}

// Unwrap returns the error beneath, or nil.
func (e *Error) Unwrap() error { return e.Err }

// The remedies that several formats share.
const (
	remedyExport  = "export the model again"
	remedyLimits  = "reduce the model, or raise the limit"
	remedyCut     = "copy or export the file again, it seems to be cut off"
	remedyFormats = "export the model as glTF, GLB, OBJ, STL or PLY"
)

// quote shortens s for a message and makes its odd characters visible.
func quote(s []byte) string {
	const most = 40
	if len(s) > most {
		return fmt.Sprintf("%.*q...", most, s[:most])
	}
	return fmt.Sprintf("%q", s)
}

// plural returns "1 face" or "2 faces"; many is the plural form.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// atPlace sets the place of an *Error that has none.
func atPlace(err error, place string) error {
	if e, ok := err.(*Error); ok && e.Place == "" {
		e.Place = place
	}
	return err
}
