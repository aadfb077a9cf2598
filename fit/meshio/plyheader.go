package meshio

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// plyType is a scalar type of PLY.
type plyType uint8

const (
	plyInt8 plyType = iota + 1
	plyUint8
	plyInt16
	plyUint16
	plyInt32
	plyUint32
	plyFloat32
	plyFloat64
)

func plyTypeNamed(s string) plyType {
	switch s {
	case "char", "int8":
		return plyInt8
	case "uchar", "uint8":
		return plyUint8
	case "short", "int16":
		return plyInt16
	case "ushort", "uint16":
		return plyUint16
	case "int", "int32":
		return plyInt32
	case "uint", "uint32":
		return plyUint32
	case "float", "float32":
		return plyFloat32
	case "double", "float64":
		return plyFloat64
	}
	return 0
}

// size is the number of bytes of the type in binary files.
func (t plyType) size() int {
	switch t {
	case plyInt8, plyUint8:
		return 1
	case plyInt16, plyUint16:
		return 2
	case plyFloat64:
		return 8
	}
	return 4
}

func (t plyType) isFloat() bool { return t == plyFloat32 || t == plyFloat64 }

// value decodes the scalar at the start of b.
func (t plyType) value(b []byte, order binary.ByteOrder) float64 {
	switch t {
	case plyInt8:
		return float64(int8(b[0]))
	case plyUint8:
		return float64(b[0])
	case plyInt16:
		return float64(int16(order.Uint16(b)))
	case plyUint16:
		return float64(order.Uint16(b))
	case plyInt32:
		return float64(int32(order.Uint32(b)))
	case plyUint32:
		return float64(order.Uint32(b))
	case plyFloat32:
		return float64(math.Float32frombits(order.Uint32(b)))
	}
	return math.Float64frombits(order.Uint64(b))
}

// plyProperty is a scalar, or a list if count is set.
type plyProperty struct {
	name  string
	count plyType // of a list's length, 0 for a scalar
	value plyType
}

type plyElement struct {
	name       string
	count      int
	properties []plyProperty
}

// leastBytes is the least that one element takes in the file.
func (e *plyElement) leastBytes(ascii bool) int64 {
	n := int64(0)
	for _, p := range e.properties {
		switch {
		case ascii:
			n += 2 // a digit and a separator
		case p.count != 0:
			n += int64(p.count.size())
		default:
			n += int64(p.value.size())
		}
	}
	return n
}

func (e *plyElement) find(names ...string) int {
	for i, p := range e.properties {
		for _, n := range names {
			if p.name == n {
				return i
			}
		}
	}
	return -1
}

type plyHeader struct {
	order    binary.ByteOrder // nil for ASCII
	elements []*plyElement
	hints    hints
}

const (
	maxPLYElements   = 1000
	maxPLYProperties = 10_000
)

// readPLYHeader leaves l behind the "end_header" line.
func readPLYHeader(j *job, l *lines) (*plyHeader, error) {
	h := &plyHeader{}
	formatted := false
	for first := true; ; first = false {
		line, err := l.read()
		if err == io.EOF {
			return nil, j.cut(l.place(), `the header ends without "end_header"`)
		}
		if err != nil {
			return nil, err
		}
		word, rest := field(line)
		if first {
			if string(word) != "ply" {
				return nil, j.fail(l.place(), `the file does not begin with "ply"`, remedyFormats)
			}
			continue
		}
		var what string
		switch string(word) {
		case "format":
			formatted = true
			what = h.format(rest)
		case "comment", "obj_info":
			h.hints.read(rest)
		case "element":
			what = h.element(rest)
		case "property":
			what = h.property(rest)
		case "end_header":
			if !formatted {
				what = `the header has no "format" line`
				break
			}
			return h, h.check(j, l.offset())
		case "":
		default:
			what = fmt.Sprintf("%s is no word of a PLY header", quote(word))
		}
		if what != "" {
			return nil, j.fail(l.place(), what, remedyExport)
		}
	}
}

// format, element and property return what is wrong, or "".

func (h *plyHeader) format(rest []byte) string {
	kind, _ := field(rest)
	switch string(kind) {
	case "ascii":
		h.order = nil
	case "binary_little_endian":
		h.order = binary.LittleEndian
	case "binary_big_endian":
		h.order = binary.BigEndian
	default:
		return fmt.Sprintf("%s is no PLY format", quote(kind))
	}
	return ""
}

func (h *plyHeader) element(rest []byte) string {
	name, rest := field(rest)
	count, _ := field(rest)
	n, ok := parseInt(count)
	if !ok || n < 0 {
		return fmt.Sprintf("%s is no count of elements", quote(count))
	}
	if len(h.elements) == maxPLYElements {
		return fmt.Sprintf("the header has more than %d elements", maxPLYElements)
	}
	h.elements = append(h.elements, &plyElement{name: string(name), count: int(n)})
	return ""
}

func (h *plyHeader) property(rest []byte) string {
	if len(h.elements) == 0 {
		return "a property stands before the first element"
	}
	e := h.elements[len(h.elements)-1]
	if len(e.properties) == maxPLYProperties {
		return fmt.Sprintf("an element has more than %d properties", maxPLYProperties)
	}
	var p plyProperty
	kind, rest := field(rest)
	if string(kind) == "list" {
		kind, rest = field(rest)
		if p.count = plyTypeNamed(string(kind)); p.count == 0 || p.count.isFloat() {
			return fmt.Sprintf("%s is no type for a list's length", quote(kind))
		}
		kind, rest = field(rest)
	}
	if p.value = plyTypeNamed(string(kind)); p.value == 0 {
		return fmt.Sprintf("%s is no PLY type", quote(kind))
	}
	name, _ := field(rest)
	p.name = string(name)
	e.properties = append(e.properties, p)
	return ""
}

// check holds the stated counts against what is left of the file.
func (h *plyHeader) check(j *job, from int64) error {
	left := j.size - from + 1 // the last separator may be missing
	for _, e := range h.elements {
		least := e.leastBytes(h.order == nil)
		if least > 0 && int64(e.count) > left/least {
			return j.cut("", fmt.Sprintf("the header states %d elements %q, the file has no room for them", e.count, e.name))
		}
		left -= int64(e.count) * least
	}
	return nil
}
