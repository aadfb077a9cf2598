package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leastPiece = 60   // triangles of a patch's turned piece
	pieceSeeds = 6    // of a patch
	pieceNear  = 400  // triangles that a piece's axis is read from at most
	pieceShare = 6    // of the patch's triangles is one that many are
	pieceLean  = 0.15 // of the speed, across a face of the piece
)

// pieces adds the turned surfaces that are part of a smooth patch, as where a
// dome goes over into a lug: an axis is read from the triangles round a seed,
// the piece is what that turn moves along itself round the seed, and its
// vertices tell the axis.
func (k *looker) pieces(patch []int32) {
	if len(patch) < 2*leastPiece {
		return
	}
	if k.piece == nil {
		k.piece = make([]int8, len(k.top.TriEdges))
	}
	for _, t := range patch {
		k.piece[t] = inPatch
	}
	seeds := 0
	for i := 0; i < len(patch) && seeds < pieceSeeds; i += max(1, len(patch)/(4*pieceSeeds)) {
		if k.piece[patch[i]] != inPatch {
			continue
		}
		seeds++
		if r, ok := k.pieceFrom(patch[i], min(max(len(patch)/pieceShare, leastPiece), pieceNear)); ok {
			k.rings = append(k.rings, r)
		}
	}
	for _, t := range patch {
		k.piece[t] = 0
	}
}

// What is known of a triangle of the patch that is looked at.
const (
	inPatch int8 = 1 + iota
	tried
	visited
)

// pieceFrom returns the ring of the turned piece round triangle t.
func (k *looker) pieceFrom(t int32, near int) (ring, bool) {
	start := k.spreadFrom(t, func(_ int32, n int) bool { return n < near })
	faces, mid, size := facesOf(k.mesh, start)
	for _, u := range start {
		k.piece[u] = tried
	}
	if size == 0 || len(faces) < leastRun {
		return ring{}, false
	}
	s, ok := slipOf(faces, mid, size)
	if !ok || s.rms > looseLean || s.pitch > looseLean {
		return ring{}, false
	}
	var best ring
	found := false
	for range 2 {
		o, a := s.origin, s.axis
		set := k.spreadFrom(t, func(u int32, _ int) bool { return k.slips(u, o, a) })
		if len(set) < leastPiece {
			break
		}
		faces, _, _ := facesOf(k.mesh, set)
		points := make([]r3.Vec, len(faces))
		for i, f := range faces {
			points[i] = f.at
		}
		if points = thin(points, profileSample); isBall(points, k.sigma) {
			break
		}
		r, ok := profiled(points, o, a, k.sigma)
		if !ok {
			break
		}
		best, found = r, true
		s.origin, s.axis = r.centre, r.axis
		for _, u := range set {
			k.piece[u] = tried
		}
	}
	return best, found
}

// slips reports whether a turn moves a triangle along itself.
func (k *looker) slips(t int32, o, a r3.Vec) bool {
	n := k.mesh.AreaNormal(int(t))
	v := r3.Cross(a, r3.Sub(centre(k.mesh, int(t)), o))
	return math.Abs(r3.Dot(n, v)) <= pieceLean*r3.Norm(n)*r3.Norm(v)
}

// spreadFrom returns the triangles of the patch that are reached from t over
// triangles that pass, which hears how many there are.
func (k *looker) spreadFrom(t int32, pass func(u int32, n int) bool) []int32 {
	set := []int32{t}
	was := []int8{k.piece[t]}
	k.piece[t] = visited
	for i := 0; i < len(set); i++ {
		for _, e := range k.top.TriEdges[set[i]] {
			u := k.top.Opposite(int(set[i]), int(e))
			if u < 0 || k.piece[u] == 0 || k.piece[u] == visited || !pass(int32(u), len(set)) {
				continue
			}
			was = append(was, k.piece[u])
			k.piece[u] = visited
			set = append(set, int32(u))
		}
	}
	for i, u := range set {
		k.piece[u] = was[i]
	}
	return set
}
