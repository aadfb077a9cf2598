package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// mate is a piece of a face that lies against the other part.
type mate struct {
	at, normal r3.Vec
	area       float64
	first      bool // of the link's first part
}

const (
	mateGap    = 0.008 // of the smaller part's diagonal, beyond the least gap
	mateSpots  = 300   // of either part
	manySpots  = 1500  // of either part where few of those mate
	fewMates   = 60
	leastMates = 12
)

var mateLean = math.Cos(20 * math.Pi / 180) // between facing normals

// mates returns samples of the faces of both parts that lie against the other
// one, closer than within: more where few of the first ones do.
func mates(a, b *mesh.Mesh, within float64) []mate {
	na, nb := nearTriangles(a.BVH(), b.BVH(), within), nearTriangles(b.BVH(), a.BVH(), within)
	var out []mate
	for _, n := range []int{mateSpots, manySpots} {
		out = appendMates(out[:0], a, b, na, n, within, true)
		out = appendMates(out, b, a, nb, n, within, false)
		if len(out) >= fewMates {
			break
		}
	}
	return out
}

func appendMates(out []mate, own, other *mesh.Mesh, tris []int32, n int, within float64, first bool) []mate {
	sample(own, tris, n, func(p, normal r3.Vec, area float64) {
		s := spot{at: p, normal: normal}
		if s.measure(other, within) && s.gap <= within && r3.Dot(normal, s.facing) < -mateLean {
			out = append(out, mate{at: p, normal: normal, area: area, first: first})
		}
	})
	return out
}

// sample calls visit for n points spread evenly over triangles, in the order of
// these, with the unit normal and the area that a point stands for.
func sample(m *mesh.Mesh, tris []int32, n int, visit func(p, normal r3.Vec, area float64)) {
	total := 0.0
	for _, t := range tris {
		total += r3.Norm(m.AreaNormal(int(t))) / 2
	}
	if !(total > 0) {
		return
	}
	step := total / float64(n)
	next, sum, k := step/2, 0.0, 0
	for _, t := range tris {
		normal := m.AreaNormal(int(t))
		l := r3.Norm(normal)
		sum += l / 2
		for ; next < sum; next += step {
			k++
			visit(onTriangle(m, int(t), k), r3.Scale(1/l, normal), step)
		}
	}
}

// nearTriangles returns the triangles of a whose boxes, or those of their
// neighbours in the hierarchy, are closer than within to boxes of b.
func nearTriangles(a, b *mesh.BVH, within float64) []int32 {
	var out []int32
	var walk func(node int32, near []int32)
	walk = func(node int32, near []int32) {
		n := &a.Nodes[node]
		near = closeNodes(b, near, n.Box, within)
		switch {
		case len(near) == 0:
		case n.Count > 0:
			out = append(out, a.Order[n.First:n.First+n.Count]...)
		default:
			walk(node+1, near)
			walk(n.Right, near)
		}
	}
	if len(a.Nodes) > 0 && len(b.Nodes) > 0 {
		walk(0, []int32{0})
	}
	return out
}

const mostNodes = 16 // of b that are told apart near one node of a

// closeNodes returns nodes of b closer than within to a box, opened as far as
// there is something to gain.
func closeNodes(b *mesh.BVH, from []int32, box r3.Box, within float64) []int32 {
	var out []int32
	queue := append([]int32(nil), from...)
	for len(queue) > 0 {
		k := queue[0]
		queue = queue[1:]
		n := &b.Nodes[k]
		if !boxes(n.Box, box, within) {
			continue
		}
		if n.Count > 0 || len(queue)+len(out) >= mostNodes || r3.Norm2(n.Box.Size()) < r3.Norm2(box.Size())/16 {
			out = append(out, k)
			continue
		}
		queue = append(queue, k+1, n.Right)
	}
	return out
}
