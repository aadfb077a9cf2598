package sweep

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Corners of a cell count bit by bit along x, y and z. Edge 4a + b runs along
// axis a, from the b-th corner without that bit.

// cellEdge is an edge of a cell: two corners and the faces beside it as bits,
// face 2a + s being that across axis a at side s.
type cellEdge struct {
	from, to int
	faces    uint8
}

// cases holds for each set of corners inside the loops, as lists of edges, in
// which the surface passes the cell. Each loop has the inside on the same side.
// Where the corners of a face alternate, those inside are cut off one by one,
// as its two cells agree without asking, so that the loops of all cells together
// are a closed surface: the surface of W. E. Lorensen, H. E. Cline (1987) with
// one rule for such faces.
type cases struct {
	edges [12]cellEdge
	loops [256][][]int8
}

func newCases() *cases {
	c := &cases{}
	index := map[[2]int]int8{}
	for a := range 3 {
		n := 0
		for v := range 8 {
			if v>>a&1 != 0 {
				continue
			}
			e := cellEdge{from: v, to: v | 1<<a}
			for b := range 3 {
				if b != a {
					e.faces |= 1 << (2*b + v>>b&1)
				}
			}
			c.edges[4*a+n] = e
			index[[2]int{e.from, e.to}], index[[2]int{e.to, e.from}] = int8(4*a+n), int8(4*a+n)
			n++
		}
	}
	for set := range 256 {
		c.loops[set] = loopsOf(set, index)
	}
	return c
}

// loopsOf traces the loops of one set: on every face, each run of inside corners,
// counter-clockwise from outside the cell, leads from the edge that it begins
// behind to the edge that it ends before.
func loopsOf(set int, index map[[2]int]int8) [][]int8 {
	var next [12]int8
	for k := range next {
		next[k] = -1
	}
	for a := range 3 {
		for side := range 2 {
			u, v := 1<<((a+1)%3), 1<<((a+2)%3)
			base := side << a
			ring := [4]int{base, base | u, base | u | v, base | v}
			if side == 0 {
				ring[1], ring[3] = ring[3], ring[1]
			}
			for k := range 4 {
				if set>>ring[k]&1 == 0 || set>>ring[(k+3)%4]&1 != 0 {
					continue // no run begins here
				}
				end := k
				for set>>ring[(end+1)%4]&1 != 0 {
					end = (end + 1) % 4
				}
				next[index[[2]int{ring[(k+3)%4], ring[k]}]] = index[[2]int{ring[end], ring[(end+1)%4]}]
			}
		}
	}
	var loops [][]int8
	for k := range next {
		var loop []int8
		for e := int8(k); next[e] >= 0; {
			loop = append(loop, e)
			e, next[e] = next[e], -1
		}
		if loop != nil {
			loops = append(loops, loop)
		}
	}
	return loops
}

// marcher makes the surface of one layer of cells.
type marcher struct {
	*field
	cases *cases
	tris  [][3]int32
	extra []r3.Vec // vertices of the layer's own, numbered -1, -2, ...
	verts []r3.Vec
	id    []int32 // first vertex of each node's edges, counted in verts; -1: none
	mask  []uint8 // of each node: which of its three edges forward are crossed
}

// solid makes the mesh: a vertex on every edge of the grid along which the
// value changes sign, where it would be zero were it straight, and the loops of
// all cells spanned.
func (f *field) solid(ctx context.Context) (solid, error) {
	layer := f.n[0] * f.n[1]
	mask := make([]uint8, len(f.value))
	count := make([]int32, f.n[2]+1)
	err := each(ctx, f.n[2], nil, func(k int) {
		for n := k * layer; n < (k+1)*layer; n++ {
			for a, stride := range [3]int{1, f.n[0], layer} {
				if f.last(n, a) {
					continue
				}
				if (f.value[n] < 0) != (f.value[n+stride] < 0) {
					mask[n] |= 1 << a
					count[k+1]++
				}
			}
		}
	})
	if err != nil {
		return solid{}, err
	}
	for k := range f.n[2] {
		count[k+1] += count[k]
	}
	if count[f.n[2]] == 0 {
		return solid{}, fmt.Errorf("the moving part passes through no volume that cells of %.3g would show", f.step)
	}
	verts := make([]r3.Vec, count[f.n[2]])
	id := make([]int32, len(f.value))
	err = each(ctx, f.n[2], nil, func(k int) {
		v := count[k]
		for n := k * layer; n < (k+1)*layer; n++ {
			id[n] = v
			for a, stride := range [3]int{1, f.n[0], layer} {
				if mask[n]>>a&1 != 0 {
					verts[v] = f.crossing(n, stride, a)
					v++
				}
			}
		}
	})
	if err != nil {
		return solid{}, err
	}
	return f.span(ctx, verts, id, mask)
}

// last tells whether node n is the last along axis a.
func (f *field) last(n, a int) bool {
	switch a {
	case 0:
		return n%f.n[0] == f.n[0]-1
	case 1:
		return n/f.n[0]%f.n[1] == f.n[1]-1
	}
	return n/(f.n[0]*f.n[1]) == f.n[2]-1
}

// crossing returns the zero on the edge from node n along axis a, a little off
// its ends, so that no triangle loses its area.
func (f *field) crossing(n, stride, a int) r3.Vec {
	p, q := float64(f.value[n]), float64(f.value[n+stride])
	// Beyond a step is no matter how far: the surface lies between.
	p, q = max(-f.step, min(f.step, p)), max(-f.step, min(f.step, q))
	const least = 0.01
	at := [3]float64{float64(n % f.n[0]), float64(n / f.n[0] % f.n[1]), float64(n / (f.n[0] * f.n[1]))}
	at[a] += max(least, min(1-least, p/(p-q)))
	return f.at(at[0], at[1], at[2])
}

// span makes the triangles, layer by layer, and the mesh.
func (f *field) span(ctx context.Context, verts []r3.Vec, id []int32, mask []uint8) (solid, error) {
	layers := make([]marcher, f.n[2]-1)
	c := newCases()
	err := each(ctx, len(layers), nil, func(k int) {
		m := marcher{field: f, cases: c, verts: verts, id: id, mask: mask}
		for j := range f.n[1] - 1 {
			for i := range f.n[0] - 1 {
				m.cell(f.node(i, j, k))
			}
		}
		layers[k] = m
	})
	if err != nil {
		return solid{}, err
	}
	b := mesh.NewBuilder()
	n := 0
	for k := range layers {
		n += len(layers[k].tris)
	}
	b.Grow(len(verts), n, 3*n)
	for _, p := range verts {
		b.Vertex(p)
	}
	for k := range layers {
		m := &layers[k]
		base := int32(b.NumVertices())
		for _, p := range m.extra {
			b.Vertex(p)
		}
		for _, t := range m.tris {
			for i, v := range t {
				if v < 0 {
					t[i] = base - v - 1
				}
			}
			b.Face(t[0], t[1], t[2])
		}
	}
	built, report, err := b.BuildContext(ctx, mesh.Options{Weld: -1})
	if err != nil {
		return solid{}, err
	}
	out := solid{mesh: built, volume: built.Volume()}
	if n := report.ZeroArea + report.Duplicate + report.NonFinite; n > 0 {
		out.notes = append(out.notes, fmt.Sprintf("%d faces of the envelope had no area and were left out, so that its mesh is not closed; another resolution may help.", n))
	}
	return out, nil
}

// cell spans the loops of the cell whose first corner is node n.
func (m *marcher) cell(n int) {
	var set int
	var corner [8]int
	for v := range corner {
		corner[v] = n + v&1 + v>>1&1*m.n[0] + v>>2*m.n[0]*m.n[1]
		if m.value[corner[v]] < 0 {
			set |= 1 << v
		}
	}
	if set == 0 || set == 255 {
		return
	}
	var ids [12]int32
	var faces [12]uint8
	for _, loop := range m.cases.loops[set] {
		for k, e := range loop {
			x := &m.cases.edges[e]
			ids[k], faces[k] = m.vertex(corner[x.from], int(e)/4), x.faces
		}
		m.loop(ids[:len(loop)], faces[:len(loop)])
	}
}

// vertex returns that on the edge from node n along axis a.
func (m *marcher) vertex(n, a int) int32 {
	v := m.id[n]
	for b := range a {
		v += int32(m.mask[n] >> b & 1)
	}
	return v
}

// loop spans a loop by cutting off corners, the one with the shortest new edge
// first. No new edge may lie in a face of the cell, where its neighbour could
// make the same one; what cannot be cut without is joined to a vertex in its
// middle.
func (m *marcher) loop(ids []int32, faces []uint8) {
	for len(ids) > 3 {
		best, least := -1, math.Inf(1)
		for k := range ids {
			a, b := (k+len(ids)-1)%len(ids), (k+1)%len(ids)
			if faces[a]&faces[b] == 0 {
				if d := r3.Norm2(r3.Sub(m.verts[ids[a]], m.verts[ids[b]])); d < least {
					best, least = k, d
				}
			}
		}
		if best < 0 {
			break
		}
		n := len(ids)
		m.triangle(ids[(best+n-1)%n], ids[best], ids[(best+1)%n])
		ids, faces = append(ids[:best], ids[best+1:]...), append(faces[:best], faces[best+1:]...)
	}
	if len(ids) == 3 {
		m.triangle(ids[0], ids[1], ids[2])
		return
	}
	var sum r3.Vec
	for _, v := range ids {
		sum = r3.Add(sum, m.verts[v])
	}
	m.extra = append(m.extra, r3.Scale(1/float64(len(ids)), sum))
	for k := range ids {
		m.triangle(ids[k], ids[(k+1)%len(ids)], -int32(len(m.extra)))
	}
}

func (m *marcher) triangle(a, b, c int32) { m.tris = append(m.tris, [3]int32{a, b, c}) }
