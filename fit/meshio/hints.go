package meshio

import (
	"bytes"
	"strings"

	"pintle/fit/mesh"
)

// hints is what comments in a file's head state about its numbers.
type hints struct {
	unit        mesh.Unit
	up          mesh.Up
	conflicting bool // two comments name different units: none is believed
}

// read looks through one comment, given without its marker. Plural names of
// units count anywhere ("all lengths in metres"), short and singular ones only
// straight after "unit" or "units" ("units: m"), since "in" and "meter" have other uses.
func (h *hints) read(comment []byte) {
	words := strings.FieldsFunc(strings.ToLower(string(comment)), func(r rune) bool {
		return (r < 'a' || r > 'z') && r < 0x80
	})
	afterUnit := false
	for i, w := range words {
		if w == "in" && i+1 < len(words) {
			continue // "units in mm": a preposition, not inches
		}
		if u := unitWord(w, afterUnit); u != "" {
			h.setUnit(u)
		}
		afterUnit = w == "unit" || w == "units" || afterUnit && (w == "is" || w == "are")
		if w != "up" {
			continue
		}
		if i > 0 {
			h.setUp(words[i-1])
		}
		if i+1 < len(words) {
			h.setUp(words[i+1])
		}
		if i+2 < len(words) && (words[i+1] == "axis" || words[i+1] == "is") {
			h.setUp(words[i+2])
		}
	}
}

func unitWord(w string, afterUnit bool) mesh.Unit {
	switch w {
	case "millimetres", "millimeters", "millimetre", "millimeter":
		return mesh.Millimetre
	case "centimetres", "centimeters", "centimetre", "centimeter":
		return mesh.Centimetre
	case "metres", "meters":
		return mesh.Metre
	case "inches":
		return mesh.Inch
	}
	if !afterUnit {
		return ""
	}
	switch w {
	case "mm":
		return mesh.Millimetre
	case "cm":
		return mesh.Centimetre
	case "m", "metre", "meter":
		return mesh.Metre
	case "in", "inch":
		return mesh.Inch
	}
	return ""
}

func (h *hints) setUnit(u mesh.Unit) {
	if h.unit != "" && h.unit != u {
		h.conflicting = true
	}
	h.unit = u
}

func (h *hints) setUp(axis string) {
	switch axis {
	case "y":
		h.up = mesh.UpY
	case "z":
		h.up = mesh.UpZ
	}
}

// settled returns the hints without a unit where comments disagree.
func (h hints) settled() hints {
	if h.conflicting {
		h.unit = ""
	}
	return h
}

// comment returns the text of a '#' comment line.
func comment(line []byte) (text []byte, ok bool) {
	word, _ := field(line)
	if len(word) == 0 || word[0] != '#' {
		return nil, false
	}
	return bytes.TrimLeft(line, "# \t"), true
}
