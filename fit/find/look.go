package find

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
)

// looker looks for the circles of one part.
type looker struct {
	ctx      context.Context
	mesh     *mesh.Mesh
	top      *mesh.Topology
	size     float64          // the part's diagonal
	sigma    float64          // noise of the vertices, 0 where it is next to nothing
	seen     map[loopKey]int8 // 2 for a circle, 1 for arcs, 0 for neither
	outlined map[loopKey]bool // whether it has been taken as the outline of a flat face
	rings    []ring
	balls    []sphere
	order    []int32   // triangles by falling area
	plain    []bool    // triangles of flat faces
	piece    []int8    // what is known of the triangles of the patch that is looked at
	rest     []outline // round flat faces, not circles
}

// leastNoise is the noise, of the part's diagonal, that is looked through like
// file rounding.
const leastNoise = 3e-6

func newLooker(ctx context.Context, m *mesh.Mesh) *looker {
	k := &looker{ctx: ctx, mesh: m, top: m.Topology(), size: m.Diagonal(), seen: map[loopKey]int8{}, outlined: map[loopKey]bool{}}
	if s := noiseOf(m); s > leastNoise*k.size {
		k.sigma = s
	}
	return k
}

// circles returns the circles of a part: those of its sharp and open edges,
// those along which its curvature jumps, those round its flat faces one by one
// and together, and those that stand for turned surfaces. told hears what it is
// doing. It fails on cancellation.
func (k *looker) circles(told func(share float64, what string)) ([]ring, error) {
	k.order = k.byArea()
	steps := []struct {
		what string
		do   func() error
		skip bool
	}{
		{"sharp edges", k.sharp, k.sigma > 0},
		{"sharp edges through noise", k.noisySharp, k.sigma == 0},
		{"bends", k.even, k.sigma > 0},
		{"flat faces", k.flat, false},
		{"outlines in one plane", k.levels, false},
		{"turned surfaces", k.turned, false},
		{"cylinders and balls", k.grown, false},
	}
	for i, s := range steps {
		if s.skip {
			continue
		}
		told(0.1+0.7*float64(i)/float64(len(steps)), "looking for "+s.what)
		if err := s.do(); err != nil {
			return nil, err
		}
	}
	return merged(k.rings, leastRadius*k.size), nil
}

// sharp takes the loops of sharp and open edges.
func (k *looker) sharp() error { return k.addAll(k.top.FeatureLoops(featureAngle)) }

// addAll adds loops until it is cancelled.
func (k *looker) addAll(loops []mesh.Loop) error {
	for _, l := range loops {
		if err := k.ctx.Err(); err != nil {
			return err
		}
		k.add(l)
	}
	return nil
}

// even takes the loops along which the curvature jumps.
func (k *looker) even() error {
	o := mesh.NewOutliner(k.top)
	for _, patch := range patches(k.mesh, k.top.EvenPatches, evenAngle, false) {
		if err := k.addAll(o.Outline(patch)); err != nil {
			return err
		}
	}
	return nil
}

// flat takes the loops round flat faces.
func (k *looker) flat() error {
	sets, err := flats(k.ctx, k.mesh, max(k.sigma, flatRounding*k.size))
	if err != nil {
		return err
	}
	k.plain = make([]bool, len(k.top.TriEdges))
	for _, set := range sets {
		if len(set) >= leastExpanse {
			for _, t := range set {
				k.plain[t] = true
			}
		}
	}
	if k.sigma == 0 {
		// Faces that are flat only on the whole, as decimation leaves them.
		sets = append(sets, patches(k.mesh, k.top.SmoothPatches, flatAngle, true)...)
	}
	return k.outlines(sets)
}

const leastExpanse = 30 // triangles of a flat face that is no facet of something turned

const flatRounding = 1e-6 // of the part's diagonal, standard deviation of a vertex from a flat face

// outlines takes the loops round flat faces.
func (k *looker) outlines(sets [][]int32) error {
	o := mesh.NewOutliner(k.top)
	for _, set := range sets {
		for _, l := range o.Outline(set) {
			if err := k.ctx.Err(); err != nil {
				return err
			}
			if k.sigma == 0 && !k.isEdge(l) {
				continue
			}
			k.outline(l, set)
		}
	}
	return nil
}

// isEdge reports whether a loop runs along bends for half of its length, as
// that of a flat face does. That of a strip of a finely cut round one does not.
func (k *looker) isEdge(l mesh.Loop) bool {
	all, bent := 0.0, 0.0
	for _, e := range l.Edges {
		v := k.top.EdgeVerts[e]
		length := math.Sqrt(r3.Norm2(r3.Sub(k.mesh.Vertices()[v[1]], k.mesh.Vertices()[v[0]])))
		all += length
		if !(math.Abs(k.top.Dihedral(int(e))) <= flatAngle) { // also an open edge
			bent += length
		}
	}
	return 2*bent >= all
}

// outline takes the loop round a flat face.
func (k *looker) outline(l mesh.Loop, face []int32) {
	key := keyOf(l)
	round, any := k.add(l)
	if round || k.outlined[key] {
		return
	}
	k.outlined[key] = true
	left := outline{points: fit.FromLoop(k.mesh, l), normal: normalOf(k.mesh, face)}
	if !any {
		if r, ok := k.mostly(left); ok {
			k.rings = append(k.rings, r)
			return
		}
	}
	if len(left.points) >= leastRest {
		k.rest = append(k.rest, left)
	}
}

// turned takes the surfaces that only one turn moves along themselves.
func (k *looker) turned() error {
	for _, patch := range patches(k.mesh, k.top.SmoothPatches, evenAngle, false) {
		if err := k.ctx.Err(); err != nil {
			return err
		}
		if r, ok := turned(k.mesh, patch, k.sigma); ok {
			k.rings = append(k.rings, r)
			continue
		}
		k.pieces(patch)
	}
	return nil
}

// noisySharp takes the loops of edges that are sharp beyond what noise does to
// the normals on either side.
func (k *looker) noisySharp() error {
	h := altitudes(k.mesh)
	feature := make([]bool, len(k.top.EdgeVerts))
	for e := range feature {
		f := k.top.EdgeFaces(e)
		if len(f) != 2 {
			feature[e] = true
			continue
		}
		bend := math.Abs(k.top.Dihedral(e))
		blur := math.Hypot(math.Atan2(k.sigma, h[f[0]]), math.Atan2(k.sigma, h[f[1]]))
		feature[e] = bend > min(featureAngle+3*blur, mostBlur)
	}
	return k.addAll(k.top.Chains(feature))
}

const mostBlur = 60 * math.Pi / 180 // an edge bent by more is sharp whatever the noise

// loopKey tells loops apart, whatever vertex they start at.
type loopKey struct {
	least, most int32
	sum         int64
	count       int
}

// add adds the rings of a loop, unless it has seen it, and reports whether it is
// a circle and whether it has any arc.
func (k *looker) add(l mesh.Loop) (round, any bool) {
	key := keyOf(l)
	if has, ok := k.seen[key]; ok {
		return has > 1, has > 0
	}
	before := len(k.rings)
	k.rings, round = k.appendRings(k.rings, fit.FromLoop(k.mesh, l), l.Closed)
	any = len(k.rings) > before
	k.seen[key] = 0
	if any {
		k.seen[key] = 1
	}
	if round {
		k.seen[key] = 2
	}
	return round, any
}

func keyOf(l mesh.Loop) loopKey {
	key := loopKey{least: math.MaxInt32, count: len(l.Edges)}
	for _, e := range l.Edges {
		key.least, key.most, key.sum = min(key.least, e), max(key.most, e), key.sum+int64(e)
	}
	return key
}

const (
	evenAngle = 35 * math.Pi / 180 // between the faces of a bent patch
	flatAngle = 0.5 * math.Pi / 180
)

// patches returns the patches of a kind that are flat, or those that are not.
func patches(m *mesh.Mesh, of func(float64) ([]int32, int), angle float64, flat bool) [][]int32 {
	label, n := of(angle)
	out := make([][]int32, n)
	for t, l := range label {
		out[l] = append(out[l], int32(t))
	}
	return slices.DeleteFunc(out, func(p []int32) bool { return len(p) < leastRun-1 || isFlat(m, p) != flat })
}

func isFlat(m *mesh.Mesh, tris []int32) bool {
	n := m.AreaNormal(int(tris[0]))
	for _, t := range tris {
		if angle(n, m.AreaNormal(int(t))) > 0.01 {
			return false
		}
	}
	return true
}
