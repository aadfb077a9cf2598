package mesh

// Outline returns the closed loops of edges that bound a set of triangles, such
// as a patch: edges that do not have exactly two of its triangles. Where
// triangles agree about outside, the set lies to the left of each loop. Loops
// that touch in a vertex stay apart. They are ordered by where they are met
// first in tris. It panics on a triangle that is not there.
func (t *Topology) Outline(tris []int32) []Loop { return NewOutliner(t).Outline(tris) }

// Outliner finds the outlines of many sets of triangles of one mesh; it keeps
// its scratch, so that a small set costs little in a large mesh. It must not be
// used by two goroutines at once.
type Outliner struct {
	*Topology
	inSet []bool
	seen  []uint8 // bit k: corner k's edge has been followed
}

// NewOutliner returns an Outliner for the mesh of t.
func NewOutliner(t *Topology) *Outliner {
	return &Outliner{t, make([]bool, len(t.TriEdges)), make([]uint8, len(t.TriEdges))}
}

// Outline does what Topology.Outline does.
func (o *Outliner) Outline(tris []int32) []Loop {
	for _, tri := range tris {
		o.inSet[tri] = true
	}
	var loops []Loop
	for _, tri := range tris {
		for k := range 3 {
			if o.seen[tri]&(1<<k) == 0 && o.mate(tri, o.TriEdges[tri][k]) < 0 {
				loops = append(loops, o.follow(tri, k))
			}
		}
	}
	for _, tri := range tris {
		o.inSet[tri], o.seen[tri] = false, 0
	}
	return loops
}

// mate returns the one other triangle of the set at e, or -1.
func (o *Outliner) mate(tri, e int32) int32 {
	mate := int32(-1)
	for _, u := range o.EdgeFaces(int(e)) {
		if u != tri && o.inSet[u] {
			if mate >= 0 {
				return -1
			}
			mate = u
		}
	}
	return mate
}

// follow walks along the outline from edge k of tri until it is back there. At
// each vertex it turns through the set from one outline edge to the next; that
// is reversible, so the walk must come round.
func (o *Outliner) follow(tri int32, k int) Loop {
	l := Loop{Closed: true}
	v := o.mesh.triangles[tri][k]
	for o.seen[tri]&(1<<k) == 0 {
		o.seen[tri] |= 1 << k
		e := o.TriEdges[tri][k]
		l.Vertices, l.Edges = append(l.Vertices, v), append(l.Edges, e)
		v = o.far(e, v)
		tri, k = o.turn(tri, k, v)
	}
	return l
}

// turn leaves edge k of tri behind and swings about v through the set up to the
// next outline edge.
func (o *Outliner) turn(tri int32, k int, v int32) (int32, int) {
	for {
		k = o.otherEdge(tri, k, v)
		e := o.TriEdges[tri][k]
		u := o.mate(tri, e)
		if u < 0 {
			return tri, k
		}
		for j, x := range o.TriEdges[u] {
			if x == e {
				k = j
			}
		}
		tri = u
	}
}

// otherEdge returns the edge of tri at v that is not edge k.
func (t *Topology) otherEdge(tri int32, k int, v int32) int {
	for j, e := range t.TriEdges[tri] {
		if j != k && (t.EdgeVerts[e][0] == v || t.EdgeVerts[e][1] == v) {
			return j
		}
	}
	return k
}
