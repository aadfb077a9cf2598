// Package figures sets numbers for the sheet: true minus signs, fixed places
// by unit so that columns align, dashes where there is no number.
package figures

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Minus replaces the hyphen of a negative number by the true minus sign, which
// is as wide as the digits.
func Minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// Fixed sets v with a fixed number of places; not a number becomes a dash.
func Fixed(v float64, places int) string {
	if math.IsNaN(v) {
		return "–"
	}
	if math.IsInf(v, 0) {
		return Minus(strconv.FormatFloat(v, 'f', 0, 64))
	}
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-") // no minus before zero
	}
	return Minus(s)
}

// Share sets a share from 0 to 1 with two places, rounded down: only what is
// certain is 1.00.
func Share(v float64) string { return Fixed(math.Floor(v*100+1e-9)/100, 2) }

// Degrees sets an angle given in radians.
func Degrees(rad float64, places int) string {
	if math.IsNaN(rad) {
		return "–"
	}
	return Fixed(rad*180/math.Pi, places) + "°"
}

// Places is how many decimal places a length in this unit deserves: one
// micrometre, or the nearest power of ten to it.
func Places(u mesh.Unit) int {
	switch u {
	case mesh.Metre:
		return 6
	case mesh.Centimetre, mesh.Inch:
		return 4
	}
	return 3
}

// Length sets a length with its unit.
func Length(v float64, u mesh.Unit) string {
	if math.IsNaN(v) {
		return "–"
	}
	return Fixed(v, Places(u)) + " " + string(u)
}

// Dir sets a unit vector in a column's width.
func Dir(v r3.Vec) string { return triple(v, 4, 7) }

// Position sets a point in model units.
func Position(v r3.Vec, u mesh.Unit) string { return triple(v, max(Places(u)-1, 1), 0) }

func triple(v r3.Vec, places, width int) string {
	set := func(x float64) string {
		s := Fixed(x, places)
		if n := width - len([]rune(s)); n > 0 {
			s = strings.Repeat(" ", n) + s
		}
		return s
	}
	return set(v.X) + " " + set(v.Y) + " " + set(v.Z)
}

// Count sets a whole number with thin groups of three.
func Count(n int) string {
	s := strconv.Itoa(n)
	var b strings.Builder
	for i, r := range s {
		if i > 0 && (len(s)-i)%3 == 0 && r != '-' && s[i-1] != '-' {
			b.WriteRune(' ')
		}
		b.WriteRune(r)
	}
	return Minus(b.String())
}

// Whole sets v as a whole number in groups of three where it is large, and with
// three significant figures where it is small.
func Whole(v float64) string {
	if math.IsNaN(v) || math.Abs(v) >= 1e15 {
		return Fixed(v, 0)
	}
	if a := math.Abs(v); a < 100 && a > 0 {
		return Fixed(v, max(0, 2-int(math.Floor(math.Log10(a)))))
	}
	return Count(int(math.Round(v)))
}

// Plural sets a count with its noun.
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Count(n) + " " + many
}

// ParseAngle reads degrees as a user types them ("12.5", "−3°"), into radians.
func ParseAngle(s string) (float64, bool) {
	v, ok := Parse(strings.TrimSuffix(strings.TrimSpace(s), "°"))
	return v * math.Pi / 180, ok
}

// Parse reads a number as a user types it, with either minus sign.
func Parse(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.ReplaceAll(s, "−", "-")), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}
