package doc

import (
	"fmt"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// sources are the model's parts with their shells, shared by the sessions
// about that model. It is safe for concurrent use.
type sources struct {
	byName map[string]*source
	gaps   gaps
}

type source struct {
	mesh         *mesh.Mesh
	shells, fine func() []shell // made at the first call
}

// cut returns the shells that a piece's number is counted among.
func (s *source) cut(p Piece) []shell {
	if p.Fine {
		return s.fine()
	}
	return s.shells()
}

// shell is a connected piece of a source, with the source's numbers of its
// vertices and triangles; nil lists stand for "the same numbers".
type shell struct {
	mesh      *mesh.Mesh
	vertices  []int32
	triangles []int32
}

func newSources(m *mesh.Model) *sources {
	s := &sources{byName: make(map[string]*source, len(m.Parts)), gaps: gaps{known: map[[2]*mesh.Mesh]float64{}}}
	for _, p := range m.Parts {
		src := &source{mesh: p.Mesh}
		src.shells = sync.OnceValue(func() []shell { return src.split(src.mesh.Topology().Shells()) })
		src.fine = sync.OnceValue(func() []shell { return src.split(fineShells(src.mesh)) })
		s.byName[p.Name] = src
	}
	return s
}

// split cuts the source into shells by a label for each triangle. Pieces of a
// mesh keep the order of triangles and vertices, so both lists are the numbers
// in rising order. Fine shells may share vertices.
func (s *source) split(label []int32, n int) []shell {
	if n <= 1 {
		return []shell{{mesh: s.mesh}}
	}
	out := make([]shell, n)
	lists := make([][]int32, n)
	for t, k := range label {
		lists[k] = append(lists[k], int32(t))
	}
	meshes := mesh.Pieces(s.mesh, lists)
	for k := range out {
		out[k] = shell{mesh: meshes[k], triangles: lists[k]}
		v := make([]int32, 0, 3*len(lists[k]))
		for _, t := range lists[k] {
			c := s.mesh.Triangles()[t]
			v = append(v, c[:]...)
		}
		slices.Sort(v)
		out[k].vertices = slices.Compact(v)
	}
	return out
}

func (s *sources) find(name string) (*source, error) {
	src, ok := s.byName[name]
	if !ok {
		return nil, fmt.Errorf("the model has no part %q", name)
	}
	return src, nil
}

// shell returns a piece that is known to exist.
func (s *sources) shell(p Piece) shell {
	src := s.byName[p.Source]
	if p.Shell == Whole {
		return shell{mesh: src.mesh}
	}
	return src.cut(p)[p.Shell]
}

// builtPart is a part's mesh with where its elements come from.
type builtPart struct {
	pieces []Piece
	mesh   *mesh.Mesh
	shells []shell // one for each piece
	vertex []int32 // first vertex of each piece in mesh, and the end
	tri    []int32 // first triangle of each piece, and the end
}

// build makes one mesh of pieces.
func (s *sources) build(pieces []Piece) (builtPart, error) {
	b := builtPart{pieces: pieces, vertex: []int32{0}, tri: []int32{0}}
	meshes := make([]*mesh.Mesh, len(pieces))
	for i, p := range pieces {
		src, err := s.find(p.Source)
		if err != nil {
			return b, err
		}
		if p.Shell != Whole && p.Shell >= len(src.cut(p)) {
			return b, fmt.Errorf("the model's part %q has no shell %d, it has %d", p.Source, p.Shell, len(src.cut(p)))
		}
		sh := s.shell(p)
		meshes[i] = sh.mesh
		b.shells = append(b.shells, sh)
		b.vertex = append(b.vertex, b.vertex[i]+int32(len(sh.mesh.Vertices())))
		b.tri = append(b.tri, b.tri[i]+int32(len(sh.mesh.Triangles())))
	}
	b.mesh = meshes[0]
	if len(meshes) > 1 {
		b.mesh = mesh.Join(meshes...)
	}
	return b, nil
}

// Pick returns elements of a part's mesh as picks on the model's own parts: one
// for each piece that they lie on. It fails for a number that the mesh does not
// have and for an edge or loop that runs from one piece to another.
func (s *Session) Pick(part int, e Elements) ([]Pick, error) {
	if part < 0 || part >= len(s.built) {
		return nil, fmt.Errorf("there is no part number %d", part)
	}
	b := s.built[part]
	picks := make([]Pick, len(b.pieces))
	for i, p := range b.pieces {
		picks[i].Source = p.Source
	}
	vertex := locator{what: "vertex", starts: b.vertex, maps: func(i int) []int32 { return b.shells[i].vertices }}
	tri := locator{what: "triangle", starts: b.tri, maps: func(i int) []int32 { return b.shells[i].triangles }}
	for _, v := range e.Vertices {
		i, at, err := vertex.find(v)
		if err != nil {
			return nil, err
		}
		picks[i].Vertices = append(picks[i].Vertices, at)
	}
	for _, x := range e.Edges {
		i, list, err := vertex.findAll(x[:])
		if err != nil {
			return nil, err
		}
		picks[i].Edges = append(picks[i].Edges, [2]int32{list[0], list[1]})
	}
	for _, l := range e.Loops {
		i, list, err := vertex.findAll(l.Vertices)
		if err != nil {
			return nil, err
		}
		picks[i].Loops = append(picks[i].Loops, Loop{Vertices: list, Closed: l.Closed})
	}
	for _, t := range e.Triangles {
		i, at, err := tri.find(t)
		if err != nil {
			return nil, err
		}
		picks[i].Triangles = append(picks[i].Triangles, at)
	}
	return mergePicks(slices.DeleteFunc(picks, func(p Pick) bool { return p.Empty() })), nil
}

// mergePicks puts picks on the same source together.
func mergePicks(picks []Pick) []Pick {
	var out []Pick
	for _, p := range picks {
		i := slices.IndexFunc(out, func(q Pick) bool { return q.Source == p.Source })
		if i < 0 {
			out = append(out, p)
			continue
		}
		out[i].Vertices = append(out[i].Vertices, p.Vertices...)
		out[i].Edges = append(out[i].Edges, p.Edges...)
		out[i].Loops = append(out[i].Loops, p.Loops...)
		out[i].Triangles = append(out[i].Triangles, p.Triangles...)
	}
	return out
}

// locator finds which piece of a part an element number belongs to.
type locator struct {
	what   string
	starts []int32
	maps   func(piece int) []int32
}

func (l locator) find(n int32) (piece int, at int32, err error) {
	last := len(l.starts) - 1
	if n < 0 || n >= l.starts[last] {
		return 0, 0, fmt.Errorf("the part has no %s %d", l.what, n)
	}
	piece, found := slices.BinarySearch(l.starts, n)
	if !found {
		piece--
	}
	for l.starts[piece+1] == n { // pieces without elements
		piece++
	}
	at = n - l.starts[piece]
	if m := l.maps(piece); m != nil {
		at = m[at]
	}
	return piece, at, nil
}

// findAll finds numbers that must lie on one piece.
func (l locator) findAll(list []int32) (piece int, at []int32, err error) {
	at = make([]int32, len(list))
	for i, n := range list {
		p, a, err := l.find(n)
		if err != nil {
			return 0, nil, err
		}
		if i > 0 && p != piece {
			return 0, nil, fmt.Errorf("the %s %d and %d lie on different pieces of the part", l.what, list[0], n)
		}
		piece, at[i] = p, a
	}
	return piece, at, nil
}

// OnPart is elements of one of the session's parts.
type OnPart struct {
	Part int
	Elements
}

// Where returns the parts that a pick's elements belong to now, with their
// numbers there, in the order of the parts. Elements of pieces that are in no
// part are left out.
func (s *Session) Where(p Pick) []OnPart {
	var out []OnPart
	for i := range s.built {
		if on := s.built[i].elements(p); !on.Empty() {
			out = append(out, OnPart{Part: i, Elements: on})
		}
	}
	return out
}

// elements returns the pick's elements that the part has, in its numbers.
func (b *builtPart) elements(p Pick) Elements {
	var out Elements
	for i, piece := range b.pieces {
		if piece.Source != p.Source {
			continue
		}
		sh := b.shells[i]
		vertex := func(v int32) (int32, bool) { return renumber(v, sh.vertices, len(sh.mesh.Vertices()), b.vertex[i]) }
		tri := func(t int32) (int32, bool) { return renumber(t, sh.triangles, len(sh.mesh.Triangles()), b.tri[i]) }
		for _, v := range p.Vertices {
			if n, ok := vertex(v); ok {
				out.Vertices = append(out.Vertices, n)
			}
		}
		for _, e := range p.Edges {
			a, okA := vertex(e[0])
			c, okC := vertex(e[1])
			if okA && okC {
				out.Edges = append(out.Edges, [2]int32{a, c})
			}
		}
		for _, l := range p.Loops {
			if on, ok := renumberAll(l.Vertices, vertex); ok {
				out.Loops = append(out.Loops, Loop{Vertices: on, Closed: l.Closed})
			}
		}
		for _, t := range p.Triangles {
			if n, ok := tri(t); ok {
				out.Triangles = append(out.Triangles, n)
			}
		}
	}
	return out
}

// renumber turns a source's number into the part's: list holds the source's
// numbers in rising order, nil for all n of them.
func renumber(v int32, list []int32, n int, start int32) (int32, bool) {
	if list == nil {
		return start + v, v >= 0 && int(v) < n
	}
	i, found := slices.BinarySearch(list, v)
	return start + int32(i), found
}

func renumberAll(list []int32, one func(int32) (int32, bool)) ([]int32, bool) {
	out := make([]int32, len(list))
	for i, v := range list {
		n, ok := one(v)
		if !ok {
			return nil, false
		}
		out[i] = n
	}
	return out, true
}

// checkPick fails where the pick names elements that the model does not have:
// the file has changed.
func (s *Session) checkPick(p Pick) (*mesh.Mesh, error) {
	src, err := s.sources.find(p.Source)
	if err != nil {
		return nil, err
	}
	m := src.mesh
	nv, nt := int32(len(m.Vertices())), int32(len(m.Triangles()))
	for _, t := range p.Triangles {
		if t < 0 || t >= nt {
			return nil, fmt.Errorf("the model's part %q has no triangle %d: pick the housing again", p.Source, t)
		}
	}
	vertices := p.Elements
	vertices.Triangles = nil
	for _, list := range vertices.lists() {
		for _, v := range list {
			if v < 0 || v >= nv {
				return nil, fmt.Errorf("the model's part %q has no vertex %d: pick the housing again", p.Source, v)
			}
		}
	}
	return m, nil
}

// PickPoints returns the points of all picked elements, each vertex of the
// model once, in the order of picks and then of vertex numbers.
func (s *Session) PickPoints(picks []Pick) ([]r3.Vec, error) {
	var out []r3.Vec
	for _, p := range mergePicks(picks) {
		m, err := s.checkPick(p)
		if err != nil {
			return nil, err
		}
		for _, v := range pickedVertices(m, p.Elements) {
			out = append(out, m.Vertices()[v])
		}
	}
	return out, nil
}

// pickedVertices returns the vertices of all elements, each once, rising.
func pickedVertices(m *mesh.Mesh, e Elements) []int32 {
	var all []int32
	for _, t := range e.Triangles {
		v := m.Triangles()[t]
		all = append(all, v[:]...)
	}
	e.Triangles = nil
	for _, list := range e.lists() {
		all = append(all, list...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}
