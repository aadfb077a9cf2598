package meshio

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// plySource yields the scalars of a PLY body one after the other.
type plySource interface {
	next(t plyType) (float64, error) // io.EOF where the file ends
	skip(e *plyElement) (bool, error)
	place() string
}

// plyReader reads vertices (x, y, z of any type), polygon lists and triangle
// strips; other elements and properties are passed over.
type plyReader struct {
	j      *job
	header *plyHeader
	src    plySource
	d      draft
	seen   bool // the vertex element
	thin   int
}

func (j *job) decodePLY() (*mesh.Model, error) {
	l, err := newLines(j)
	if err != nil {
		return nil, err
	}
	h, err := readPLYHeader(j, l)
	if err != nil {
		return nil, err
	}
	p := &plyReader{j: j, header: h, d: draft{starts: []int32{}}}
	if h.order == nil {
		p.src = &plyASCII{lines: l}
	} else {
		p.src = &plyBinary{window: &l.window, order: h.order}
	}
	for _, e := range h.elements {
		if err := p.element(e); err != nil {
			if err == io.EOF {
				err = j.cut(p.src.place(), fmt.Sprintf("the file ends within the elements %q", e.name))
			}
			return nil, err
		}
	}
	if err := p.checkCorners(); err != nil {
		return nil, err
	}
	if p.thin > 0 {
		j.note("%s with fewer than three corners left out.", plural(p.thin, "face", "faces"))
	}
	if len(p.d.starts) == 0 {
		return nil, j.fail("", "the file holds points but no faces", "export the model with its mesh")
	}
	return j.finish([]*draft{&p.d}, h.hints.settled())
}

func (p *plyReader) element(e *plyElement) error {
	switch e.name {
	case "vertex":
		return p.vertices(e)
	case "face":
		return p.lists(e, p.polygon, "vertex_indices", "vertex_index")
	case "tristrips":
		return p.lists(e, p.strip, "vertex_indices", "vertex_index")
	}
	return p.skipElement(e)
}

func (p *plyReader) skipElement(e *plyElement) error {
	if len(e.properties) == 0 {
		return nil
	}
	if done, err := p.src.skip(e); done || err != nil {
		return err
	}
	for range e.count {
		for _, q := range e.properties {
			if err := p.skipProperty(q); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *plyReader) skipProperty(q plyProperty) error {
	n := 1
	if q.count != 0 {
		var err error
		if n, err = p.listLength(q); err != nil {
			return err
		}
	}
	for range n {
		if _, err := p.src.next(q.value); err != nil {
			return err
		}
	}
	return nil
}

func (p *plyReader) listLength(q plyProperty) (int, error) {
	n, err := p.src.next(q.count)
	if err != nil {
		return 0, err
	}
	if !(n >= 0 && n <= math.MaxUint32) || n != math.Trunc(n) {
		return 0, p.j.fail(p.src.place(), fmt.Sprintf("%g is no length of a list", n), remedyExport)
	}
	return int(n), nil
}

func (p *plyReader) vertices(e *plyElement) error {
	at := [3]int{e.find("x"), e.find("y"), e.find("z")}
	for i, k := range at {
		if k < 0 || e.properties[k].count != 0 {
			return p.j.fail("", fmt.Sprintf("the vertices have no coordinate %c", "xyz"[i]), remedyExport)
		}
	}
	if p.seen {
		return p.j.fail("", "the header has two vertex elements", remedyExport)
	}
	p.seen = true
	if err := p.j.addVertices(e.count, ""); err != nil {
		return err
	}
	p.d.points = make([]r3.Vec, 0, e.count)
	for range e.count {
		var v r3.Vec
		for k, q := range e.properties {
			if q.count != 0 {
				if err := p.skipProperty(q); err != nil {
					return err
				}
				continue
			}
			c, err := p.src.next(q.value)
			if err != nil {
				return err
			}
			switch k {
			case at[0]:
				v.X = c
			case at[1]:
				v.Y = c
			case at[2]:
				v.Z = c
			}
		}
		p.d.points = append(p.d.points, v)
	}
	return nil
}

// lists reads an element whose list property holds vertex indexes and hands
// each list to use.
func (p *plyReader) lists(e *plyElement, use func(list []int32) error, names ...string) error {
	at := e.find(names...)
	if at < 0 || e.properties[at].count == 0 {
		return p.skipElement(e)
	}
	var list []int32
	for range e.count {
		for k, q := range e.properties {
			if k != at {
				if err := p.skipProperty(q); err != nil {
					return err
				}
				continue
			}
			var err error
			if list, err = p.indexes(q, list[:0]); err != nil {
				return err
			}
			if err := use(list); err != nil {
				return err
			}
		}
	}
	return nil
}

// indexes appends a list of vertex indexes. The list grows as the file
// yields values, so a length alone takes no memory. -1 parts strips.
func (p *plyReader) indexes(q plyProperty, list []int32) ([]int32, error) {
	n, err := p.listLength(q)
	if err != nil {
		return nil, err
	}
	if n > 3*p.j.limits.MaxTriangles {
		return nil, p.j.addTriangles(n, p.src.place())
	}
	for range n {
		v, err := p.src.next(q.value)
		if err != nil {
			return nil, err
		}
		if !(v >= -1 && v <= math.MaxInt32) || v != math.Trunc(v) {
			return nil, p.j.fail(p.src.place(), fmt.Sprintf("%g is no index of a vertex", v), remedyExport)
		}
		list = append(list, int32(v))
	}
	return list, nil
}

func (p *plyReader) polygon(list []int32) error {
	if len(list) < 3 {
		p.thin++
		return nil
	}
	if err := p.j.checkPolygon(len(list), ""); err != nil {
		return atPlace(err, p.src.place())
	}
	p.d.starts = append(p.d.starts, int32(len(p.d.corners)))
	p.d.corners = append(p.d.corners, list...)
	return nil
}

// strip adds the triangles of strips, every second one turned back to the
// strip's winding.
func (p *plyReader) strip(list []int32) error {
	from := 0
	for i, v := range list {
		if v == -1 {
			from = i + 1
			continue
		}
		if i-from < 2 {
			continue
		}
		a, b := list[i-2], list[i-1]
		if (i-from)%2 == 1 {
			a, b = b, a
		}
		if a == b || b == v || v == a {
			continue // a stitch between strips
		}
		if err := p.polygon([]int32{a, b, v}); err != nil {
			return err
		}
	}
	return nil
}

func (p *plyReader) checkCorners() error {
	n := int32(len(p.d.points))
	for i, from := range p.d.starts {
		to := len(p.d.corners)
		if i+1 < len(p.d.starts) {
			to = int(p.d.starts[i+1])
		}
		for _, v := range p.d.corners[from:to] {
			if v < 0 || v >= n {
				return p.j.fail(fmt.Sprintf("face %d", i), fmt.Sprintf("it uses vertex %d, but there are %d vertices", v, n), remedyExport)
			}
		}
	}
	return nil
}

// plyASCII reads numbers as words.
type plyASCII struct {
	lines *lines
	rest  []byte
}

func (a *plyASCII) place() string { return a.lines.place() }

func (a *plyASCII) next(plyType) (float64, error) {
	for {
		var word []byte
		if word, a.rest = field(a.rest); len(word) > 0 {
			v, ok := parseFloat(word)
			if !ok {
				return 0, a.lines.j.fail(a.place(), fmt.Sprintf("%s is not a number", quote(word)), remedyExport)
			}
			return v, nil
		}
		line, err := a.lines.read()
		if err != nil {
			return 0, err
		}
		a.rest = line
	}
}

func (a *plyASCII) skip(*plyElement) (bool, error) { return false, nil }

// plyBinary reads scalars of the stated types.
type plyBinary struct {
	window *window
	order  binary.ByteOrder
}

func (b *plyBinary) place() string { return fmt.Sprintf("byte %d", b.window.offset()) }

func (b *plyBinary) next(t plyType) (float64, error) {
	s, err := b.window.take(t.size())
	if err != nil {
		return 0, err
	}
	return t.value(s, b.order), nil
}

// skip passes over an element of constant size in one go.
func (b *plyBinary) skip(e *plyElement) (bool, error) {
	for _, q := range e.properties {
		if q.count != 0 {
			return false, nil
		}
	}
	// The header check has shown that the product fits into the file.
	return true, b.window.skip(int64(e.count) * e.leastBytes(false))
}
