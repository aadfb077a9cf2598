// Package wire is the one JSON style of Pintle, shared by the document, the
// commands and the joint spec: snake_case names, angles in degrees, vectors as
// [x, y, z], null for a number that does not exist (NaN and infinities have no
// JSON form), two spaces of indent with lists of plain values on one line.
// Reading is strict: unknown and repeated names, missing values and anything
// behind the end are errors that say where.
package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Num is a number that may not exist: NaN and infinities are null.
type Num float64

// MarshalJSON writes the number or null.
func (n Num) MarshalJSON() ([]byte, error) { return number(float64(n)), nil }

// UnmarshalJSON reads a number, or null as NaN.
func (n *Num) UnmarshalJSON(data []byte) error {
	v, err := parse(data)
	*n = Num(v)
	return err
}

// Deg is an angle: radians in memory, degrees in JSON, null for one that does
// not exist. See Degrees for the digits.
type Deg float64

const radPerDeg = math.Pi / 180

// MarshalJSON writes degrees or null.
func (d Deg) MarshalJSON() ([]byte, error) { return number(Degrees(float64(d))), nil }

// UnmarshalJSON reads degrees, or null as NaN.
func (d *Deg) UnmarshalJSON(data []byte) error {
	v, err := parse(data)
	*d = Deg(v * radPerDeg)
	return err
}

// Degrees returns rad in degrees, in the form that is best read: up to 13
// digits where they turn back into rad or its neighbouring double, so pi/6 is
// 30; otherwise the value that turns back into rad, or the nearest to it where
// there is none. What was read from a file is written as it was read.
func Degrees(rad float64) float64 {
	deg := readable(rad)
	// The neighbour may have a neighbour that reads better still: go on until
	// the value settles, so that saving again changes nothing.
	for next := readable(deg * radPerDeg); next != deg && !math.IsNaN(next); next = readable(deg * radPerDeg) {
		if len(shortest(next)) >= len(shortest(deg)) {
			break
		}
		deg = next
	}
	return deg
}

func shortest(x float64) string { return strconv.FormatFloat(x, 'e', -1, 64) }

func readable(rad float64) float64 {
	deg := rad * (180 / math.Pi)
	if math.IsNaN(deg) || math.IsInf(deg, 0) {
		return deg
	}
	const most = 13
	for digits := 1; digits <= most; digits++ {
		short, err := strconv.ParseFloat(strconv.FormatFloat(deg, 'e', digits-1, 64), 64)
		if back := short * radPerDeg; err == nil &&
			(back == rad || back == math.Nextafter(rad, back)) {
			return short
		}
	}
	best := deg
	for _, near := range []float64{math.Nextafter(deg, math.Inf(-1)), math.Nextafter(deg, math.Inf(1))} {
		if math.Abs(near*radPerDeg-rad) < math.Abs(best*radPerDeg-rad) {
			best = near
		}
	}
	return best
}

// Vec is a point or direction, written as [x, y, z].
type Vec r3.Vec

// MarshalJSON writes the three numbers.
func (v Vec) MarshalJSON() ([]byte, error) {
	return json.Marshal([3]Num{Num(v.X), Num(v.Y), Num(v.Z)})
}

// UnmarshalJSON reads exactly three numbers, none of them null.
func (v *Vec) UnmarshalJSON(data []byte) error {
	var a []*float64
	if err := json.Unmarshal(data, &a); err != nil || len(a) != 3 || a[0] == nil || a[1] == nil || a[2] == nil {
		return fmt.Errorf("a point or direction must be three numbers [x, y, z], not %s", clip(data))
	}
	*v = Vec{X: *a[0], Y: *a[1], Z: *a[2]}
	return nil
}

func number(v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null")
	}
	if v == 0 {
		v = 0 // not -0
	}
	b, _ := json.Marshal(v) // cannot fail: v is finite
	return b
}

func parse(data []byte) (float64, error) {
	if string(data) == "null" {
		return math.NaN(), nil
	}
	var v float64
	if err := json.Unmarshal(data, &v); err != nil {
		return math.NaN(), fmt.Errorf("a number was expected, not %s", clip(data))
	}
	return v, nil
}

// clip shortens a piece of the text for a message of one line.
func clip(data []byte) string {
	const most = 40
	s := strings.Join(strings.Fields(strings.ToValidUTF8(string(data[:min(len(data), 4*most)]), "?")), " ")
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}

// Marshal returns v in the package's style, ended by a newline.
func Marshal(v any) ([]byte, error) {
	var compact bytes.Buffer
	e := json.NewEncoder(&compact)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return indent(bytes.TrimSpace(compact.Bytes())), nil
}

// indent lays compact JSON out: two spaces a level, a list of plain values on
// one line.
func indent(src []byte) []byte {
	var out bytes.Buffer
	out.Grow(len(src) * 3 / 2)
	depth := 0
	newline := func() {
		out.WriteByte('\n')
		for range depth {
			out.WriteString("  ")
		}
	}
	for i := 0; i < len(src); i++ {
		switch c := src[i]; c {
		case '"':
			end := stringEnd(src, i)
			out.Write(src[i:end])
			i = end - 1
		case '[', '{':
			if end, ok := plain(src, i); ok {
				writePlain(&out, src[i:end])
				i = end - 1
				continue
			}
			out.WriteByte(c)
			depth++
			newline()
		case ']', '}':
			depth--
			newline()
			out.WriteByte(c)
		case ',':
			out.WriteByte(c)
			newline()
		case ':':
			out.WriteString(": ")
		default:
			out.WriteByte(c)
		}
	}
	out.WriteByte('\n')
	return out.Bytes()
}

// plain returns the end of the list that starts at i if it holds no list or
// object, or of an empty object.
func plain(src []byte, i int) (end int, ok bool) {
	if src[i] == '{' {
		return i + 2, src[i+1] == '}'
	}
	for j := i + 1; j < len(src); j++ {
		switch src[j] {
		case '"':
			j = stringEnd(src, j) - 1
		case '[', '{':
			return 0, false
		case ']':
			return j + 1, true
		}
	}
	return 0, false
}

func writePlain(out *bytes.Buffer, src []byte) {
	for i := 0; i < len(src); i++ {
		switch src[i] {
		case '"':
			end := stringEnd(src, i)
			out.Write(src[i:end])
			i = end - 1
		case ',':
			out.WriteString(", ")
		default:
			out.WriteByte(src[i])
		}
	}
}

// stringEnd returns the index behind the closing quote of the string at i.
func stringEnd(src []byte, i int) int {
	for j := i + 1; j < len(src); j++ {
		switch src[j] {
		case '\\':
			j++
		case '"':
			return j + 1
		}
	}
	return len(src)
}

// maxDepth bounds nesting, maxObjects how many objects one text may hold: an
// empty object of three bytes can cost hundreds in memory. Nothing of ours comes
// near either.
const (
	maxDepth   = 32
	maxObjects = 500_000
)

// Unmarshal reads data into v, strictly.
func Unmarshal(data []byte, v any) error {
	if err := checkTokens(data); err != nil {
		return err
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return sentence(data, err)
	}
	return nil
}

// checkTokens walks the whole text once: well-formed, not too deep, no name
// twice in one object (encoding/json would quietly take the last, and would
// take names in any case), one value and nothing behind it.
func checkTokens(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var open []*object
	objects := 0
	for {
		tok, err := d.Token()
		if err != nil {
			return sentence(data, err)
		}
		at := d.InputOffset()
		if n := len(open); n > 0 {
			if err := open[n-1].take(tok); err != nil {
				return fmt.Errorf("line %d: %w", line(data, at), err)
			}
		} else if tok != json.Delim('{') {
			return fmt.Errorf("line %d: an object { } was expected", line(data, at))
		}
		switch tok {
		case json.Delim('{'):
			if objects++; objects > maxObjects {
				return fmt.Errorf("there are more than %d objects", maxObjects)
			}
			open = append(open, &object{names: map[string]bool{}})
		case json.Delim('['):
			open = append(open, &object{})
		case json.Delim('}'), json.Delim(']'):
			open = open[:len(open)-1]
			if len(open) > 0 {
				continue
			}
			if len(bytes.TrimSpace(data[at:])) > 0 {
				return fmt.Errorf("line %d: there is text behind the end", line(data, at))
			}
			return nil
		}
		if len(open) > maxDepth {
			return fmt.Errorf("line %d: nested deeper than %d levels", line(data, at), maxDepth)
		}
	}
}

// object tracks the names of an open object; names is nil for a list.
type object struct {
	names map[string]bool
	value bool // the next token is a value, not a name
}

func (o *object) take(tok json.Token) error {
	if o.names == nil || tok == json.Delim('}') {
		return nil
	}
	if o.value {
		o.value = false
		return nil
	}
	name, _ := tok.(string)
	if folded := strings.ToLower(name); o.names[folded] {
		return fmt.Errorf("the name %q stands twice in one object", name)
	} else if folded != name {
		return fmt.Errorf("unknown name %q: names are in lower case", name)
	} else {
		o.names[folded] = true
	}
	o.value = true
	return nil
}

// sentence turns an error of encoding/json into one that names the line.
func sentence(data []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("line %d: the text ends too early", line(data, int64(len(data))))
	case errors.As(err, &syntax):
		return fmt.Errorf("line %d: %s", line(data, syntax.Offset), strings.TrimPrefix(syntax.Error(), "json: "))
	case errors.As(err, &kind):
		where := kind.Field
		if where == "" {
			where = "the value"
		}
		return fmt.Errorf("line %d: %s cannot be a %s", line(data, kind.Offset), where, kind.Value)
	}
	return errors.New(strings.TrimPrefix(err.Error(), "json: "))
}

func line(data []byte, offset int64) int {
	offset = min(max(offset, 0), int64(len(data)))
	return 1 + bytes.Count(data[:offset], []byte{'\n'})
}

// ErrNoVersion is Version's error for an object without a version.
var ErrNoVersion = errors.New("there is no version")

// Version returns the whole number that the object has under the name key at
// its top level, without looking at the rest.
func Version(data []byte, key string) (int, error) {
	if err := checkTokens(data); err != nil {
		return 0, err
	}
	var top map[string]json.RawMessage
	if err := json.Unmarshal(data, &top); err != nil {
		return 0, sentence(data, err)
	}
	raw, ok := top[key]
	if !ok {
		return 0, ErrNoVersion
	}
	var v int
	if err := json.Unmarshal(raw, &v); err != nil || string(raw) == "null" {
		return 0, fmt.Errorf("the version %q must be a whole number, not %s", key, clip(raw))
	}
	return v, nil
}
