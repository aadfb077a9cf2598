package meshio

import (
	"bytes"
	"cmp"
	"fmt"
	"io"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// asciiSTL reads the text form of STL word by word, so line ends only matter
// behind "solid". A loop of more than three vertices is kept as a polygon.
type asciiSTL struct {
	j      *job
	lines  *lines
	rest   []byte // of the current line
	drafts []*draft
	solid  *draft
}

func (j *job) decodeASCIISTL() (*mesh.Model, error) {
	l, err := newLines(j)
	if err != nil {
		return nil, err
	}
	s := &asciiSTL{j: j, lines: l}
	for {
		word, err := s.word()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if !is(word, "solid") {
			return nil, s.unexpected(word, `"solid"`)
		}
		if err := s.readSolid(); err != nil {
			if err == io.EOF {
				return nil, j.cut(l.place(), `the file ends without "endsolid"`)
			}
			return nil, err
		}
	}
	return j.finish(s.drafts, hints{})
}

func is(word []byte, want string) bool { return bytes.EqualFold(word, []byte(want)) }

// word returns the next word of the file or io.EOF.
func (s *asciiSTL) word() ([]byte, error) {
	for {
		var word []byte
		if word, s.rest = field(s.rest); len(word) > 0 {
			return word, nil
		}
		line, err := s.lines.read()
		if err != nil {
			return nil, err
		}
		s.rest = line
	}
}

func (s *asciiSTL) expect(words ...string) error {
	for _, want := range words {
		word, err := s.word()
		if err != nil {
			return err
		}
		if !is(word, want) {
			return s.unexpected(word, fmt.Sprintf("%q", want))
		}
	}
	return nil
}

// restOfLine uses up the line that the last word stood in.
func (s *asciiSTL) restOfLine() string {
	r := string(s.rest)
	s.rest = nil
	return r
}

func (s *asciiSTL) readSolid() error {
	s.solid = &draft{name: s.restOfLine(), starts: []int32{}}
	for {
		word, err := s.word()
		if err != nil {
			return err
		}
		switch {
		case is(word, "facet"):
			if err := s.facet(); err != nil {
				return err
			}
		case is(word, "endsolid"):
			s.restOfLine()
			return s.endSolid()
		default:
			return s.unexpected(word, `"facet" or "endsolid"`)
		}
	}
}

func (s *asciiSTL) endSolid() error {
	if len(s.solid.starts) == 0 {
		s.j.note("A solid without triangles was left out.")
		return nil
	}
	s.drafts = append(s.drafts, s.solid)
	return s.j.checkParts(len(s.drafts), s.lines.place())
}

// facet reads what follows the word "facet".
func (s *asciiSTL) facet() error {
	if err := s.expect("normal"); err != nil {
		return err
	}
	for range 3 { // the winding tells the normal
		if _, err := s.word(); err != nil {
			return err
		}
	}
	if err := s.expect("outer", "loop"); err != nil {
		return err
	}
	d := s.solid
	from := len(d.points)
	for {
		word, err := s.word()
		if err != nil {
			return err
		}
		if is(word, "endloop") {
			break
		}
		if !is(word, "vertex") {
			return s.unexpected(word, `"vertex" or "endloop"`)
		}
		if err := s.vertex(); err != nil {
			return err
		}
		if n := len(d.points) - from; n > s.j.limits.MaxCorners {
			return atPlace(s.j.checkPolygon(n, ""), s.lines.place())
		}
	}
	n := len(d.points) - from
	if n < 3 {
		return s.j.fail(s.lines.place(), fmt.Sprintf("a facet has %s, it needs three", plural(n, "vertex", "vertices")), remedyExport)
	}
	if err := cmp.Or(s.j.checkPolygon(n, ""), s.j.addVertices(n, "")); err != nil {
		return atPlace(err, s.lines.place())
	}
	d.starts = append(d.starts, int32(from))
	for i := from; i < len(d.points); i++ {
		d.corners = append(d.corners, int32(i))
	}
	return s.expect("endfacet")
}

func (s *asciiSTL) vertex() error {
	var p r3.Vec
	for _, c := range [...]*float64{&p.X, &p.Y, &p.Z} {
		word, err := s.word()
		if err != nil {
			return err
		}
		v, ok := parseFloat(word)
		if !ok {
			return s.unexpected(word, "a coordinate")
		}
		*c = v
	}
	s.solid.points = append(s.solid.points, p)
	return nil
}

func (s *asciiSTL) unexpected(word []byte, want string) error {
	return s.j.fail(s.lines.place(), fmt.Sprintf("%s stands where %s should", quote(word), want), remedyExport)
}
