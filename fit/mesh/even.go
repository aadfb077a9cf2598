package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Limits of what counts as one evenly curved surface.
const (
	flatBend          = 1e-3 // radians; a circle of 6283 corners still counts as curved
	maxBendRatio      = 1.6  // of the bends at successive edges; at a tangent point it is 2
	maxCurvatureRatio = 1.25 // of the curvatures at successive edges
	minParallel       = 0.9  // |cos| of edges that follow each other across a face
	maxFarTris        = 6    // faces of more triangles are not looked across
)

// Curvature returns the signed curvature across edge e, in 1/model unit: the
// dihedral angle over the mean width of the two faces, across the edge. On a
// regular tessellation of a cylinder of radius r it is close to 1/r at the
// edges along the axis and 0 at those round it. A face is a polygon or a pair
// of triangles that make a quad (see Quads). It is NaN where Dihedral is.
func (t *Topology) Curvature(e int) float64 {
	angle := t.Dihedral(e)
	if math.IsNaN(angle) {
		return angle
	}
	f := t.EdgeFaces(e)
	v := t.EdgeVerts[e]
	length := r3.Norm(r3.Sub(t.mesh.vertices[v[1]], t.mesh.vertices[v[0]]))
	q := t.quads()
	return 2 * angle * length / (q.area[q.face[f[0]]] + q.area[q.face[f[1]]])
}

// farEdge returns the edge that follows e across the face of tri, the most
// parallel one, or -1.
func (t *Topology) farEdge(e, tri int32) int32 {
	q := t.quads()
	d := t.direction(e)
	best, most := int32(-1), minParallel
	look := func(u int32) {
		for _, x := range t.TriEdges[u] {
			if x == e || q.isInner(t, x) {
				continue
			}
			if c := math.Abs(r3.Dot(d, t.direction(x))); c > most {
				best, most = x, c
			}
		}
	}
	first := q.face[tri]
	if q.mate[first] >= 0 {
		look(first)
		look(q.mate[first])
		return best
	}
	for u := first; int(u) < len(q.face) && q.face[u] == first; u++ {
		if u-first == maxFarTris {
			return -1
		}
		look(u)
	}
	return best
}

// direction returns the unit direction of edge e.
func (t *Topology) direction(e int32) r3.Vec {
	v := t.EdgeVerts[e]
	d := r3.Sub(t.mesh.vertices[v[1]], t.mesh.vertices[v[0]])
	return r3.Scale(1/r3.Norm(d), d)
}

// isEven reports whether the surface goes on evenly across edge e, which must
// be no feature edge. It does where it is flat, or where bend and curvature are
// those of the edge that follows on one side at least. It does not where the
// edge that follows on any side bends much more: where an arc begins at its
// tangent the bend is half that of the next edge. Where an arc changes its
// radius but not its steps, the curvature at the joint is between those on both
// sides, so it is like neither.
func (t *Topology) isEven(e int, angle float64) bool {
	bend := math.Abs(t.Dihedral(e))
	if t.quads().isInner(t, int32(e)) || bend <= flatBend {
		return true
	}
	k := t.Curvature(e)
	like := false
	for _, f := range t.EdgeFaces(e) {
		far := t.farEdge(int32(e), f)
		if far < 0 || t.isFeature(int(far), angle) {
			continue
		}
		next := t.Curvature(int(far))
		nextBend := math.Abs(t.Dihedral(int(far)))
		if nextBend > maxBendRatio*bend {
			return false
		}
		like = like || bend <= maxBendRatio*nextBend && next/k <= maxCurvatureRatio && k/next <= maxCurvatureRatio && next*k > 0
	}
	return like
}

// EvenPatches labels every triangle with its patch of even curvature: smooth
// patches (see SmoothPatches) cut further where the curvature jumps, so that a
// cylinder, the blend at its end and the flat face behind are three patches
// although no edge among them is sharp. Labels run from 0 to n-1 in the order
// of their first triangles.
func (t *Topology) EvenPatches(angle float64) (label []int32, n int) {
	pass := make([]bool, len(t.EdgeVerts))
	for e := range pass {
		pass[e] = !t.isFeature(e, angle) && t.isEven(e, angle)
	}
	return t.flood(func(e int32) bool { return pass[e] })
}

// EvenPatchFrom returns the one of EvenPatches(angle) that has triangle tri, in
// rising order. It looks only at the patch and its surroundings, but for the
// pairing of triangles at the first call. It is nil if there is no such
// triangle.
func (t *Topology) EvenPatchFrom(tri int, angle float64) []int32 {
	return t.grow(tri, func(_, e int32) bool {
		return !t.isFeature(int(e), angle) && t.isEven(int(e), angle)
	})
}
