package find

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
)

// ring is a circle that a part shows: a loop of edges, or arcs of one circle.
type ring struct {
	centre, axis r3.Vec
	radius       float64
	arc          float64 // covered, radians, at most 2 pi
	form         float64 // 1 for vertices on the circle, towards 0 for a rough one
	tilt, shift  float64 // how well axis and centre are known: radians and model units
	points       []r3.Vec
	bolts        bool // stands for holes or pins on a circle: its axis is one, its rim is not
}

// weight is how much a ring says about its axis: long arcs of large circles
// say most.
func (r ring) weight() float64 { return r.form * r.radius * r.arc / (2 * math.Pi) }

const (
	featureAngle    = 20 * math.Pi / 180
	roundness       = 2e-3               // of the radius, for the distance of a loop's vertices from its circle
	roughness       = 2e-2               // the same, for a closed loop that is only about round
	fileRounding    = 1e-6               // of the radius
	leastTurns      = 6                  // vertices of a loop that is a circle
	leastRun        = 5                  // vertices of an arc
	leastArc        = 50 * math.Pi / 180 // of an arc
	mostStep        = 62 * math.Pi / 180 // between neighbouring vertices of a circle
	leastCover      = 85 * math.Pi / 180 // of a circle in all
	ringSample      = 64                 // vertices that are fitted
	ringPoints      = 12                 // that a ring keeps
	mostRingsOfPart = 3000               // the heaviest
	leastRadius     = 2e-4               // of the part's diagonal
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

func (k *looker) outlines(sets [][]int32) error {
	o := mesh.NewOutliner(k.top)
	for _, set := range sets {
		for _, l := range o.Outline(set) {
			if err := k.ctx.Err(); err != nil {
				return err
			}
			key := keyOf(l)
			round, any := k.add(l)
			if round || k.outlined[key] {
				continue
			}
			k.outlined[key] = true
			left := outline{points: fit.FromLoop(k.mesh, l), normal: normalOf(k.mesh, set)}
			if !any {
				if r, ok := k.mostly(left); ok {
					k.rings = append(k.rings, r)
					continue
				}
			}
			if len(left.points) >= leastRest {
				k.rest = append(k.rest, left)
			}
		}
	}
	return nil
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

// appendRings adds the circle that a chain of vertices lies on, or the arcs
// it is made of, and reports which.
func (k *looker) appendRings(found []ring, p []r3.Vec, closed bool) (rings []ring, round bool) {
	if closed && len(p) > 3 {
		if r, ok := k.fitRing(p, true); ok {
			return append(found, r), true
		}
	}
	return k.arcs(found, p, closed), false
}

// fitRing fits a circle to a chain of vertices; it is false where they do not
// lie on one.
func (k *looker) fitRing(p []r3.Vec, closed bool) (ring, bool) {
	n := len(p)
	d, ok := fitCircle(thin(p, ringSample))
	if !ok || d.radius > k.size || ringSigmas*k.sigma > mostNoise*d.radius {
		return ring{}, false
	}
	arc, worst, most := 0.0, 0.0, 0.0
	for i := range p {
		worst = max(worst, d.off(p[i])/d.radius)
		if i == n-1 && !closed {
			break
		}
		step := angle(r3.Sub(p[i], d.centre), r3.Sub(p[(i+1)%n], d.centre))
		arc += step
		most = max(most, step)
	}
	f := form{count: n, closed: closed, arc: min(arc, 2*math.Pi), step: most, worst: worst, noise: ringSigmas * k.sigma / d.radius}
	if f.exact = worst*d.radius < exactRing*d.radius+1e-6*k.size; f.exact && closed && n < leastTurns {
		f.chance = symmetric(p, d)
	}
	if !f.isRound() {
		return ring{}, false
	}
	return k.newRing(d, f, p), true
}

const (
	ringSigmas = 4.5  // standard deviations that a vertex may be off its circle
	mostNoise  = 0.15 // of the radius, for that
)

// form is how a chain of vertices lies on its circle; lengths are in radii.
type form struct {
	count        int
	closed       bool
	exact        bool    // but for rounding
	chance       bool    // so does a chain of its symmetry
	arc, step    float64 // covered, and the largest between neighbours
	worst, noise float64 // largest distance, and what noise makes of it
}

// isRound reports whether the chain is an arc or a circle.
func (f form) isRound() bool {
	switch {
	case f.worst > f.limit() || f.noise > mostNoise:
		return false
	case f.closed && f.exact:
		return f.count > 3 && !f.chance && f.step < mostOpen
	}
	return mayStep(f.count, f.arc, f.step, f.exact)
}

// limit is how far a vertex may be off. Vertices between which the chords cut
// in deeply are seldom on the circle themselves, as decimation leaves them.
func (f form) limit() float64 {
	l := roundness
	if f.closed {
		l += cutShare * (1 - math.Cos(min(f.step, mostStep)/2))
		if f.count >= 2*leastTurns {
			l = max(l, roughness)
		}
	}
	return l + f.noise
}

// weight is 1 for vertices on the circle, towards 0 for a rough one.
func (f form) weight() float64 {
	rough := f.worst / (2*roundness + 2*cutShare*(1-math.Cos(min(f.step, mostStep)/2)) + f.noise)
	return 1 / (1 + rough*rough)
}

const (
	exactRing = 2e-5                // of the radius, off a circle by rounding alone
	mostOpen  = 170 * math.Pi / 180 // between neighbours of an exact closed circle
	cutShare  = 0.3                 // of the sagitta of the largest step
)

// symmetric reports whether four points lie on a circle by their symmetry, as
// the corners of a rectangle and of a trapezium do.
func symmetric(p []r3.Vec, d circleFit) bool {
	if len(p) != 4 {
		return false
	}
	var step [4]float64
	for i := range step {
		step[i] = angle(r3.Sub(p[i], d.centre), r3.Sub(p[(i+1)%4], d.centre))
	}
	const like = 1e-3
	return math.Abs(step[0]-step[2]) < like || math.Abs(step[1]-step[3]) < like
}

// useful is 1 for an axis that is known well, towards 0 for one that is not.
func useful(tilt float64) float64 {
	if !(tilt > 0) { // also NaN
		return 1
	}
	x := tilt / usefulTilt
	return 1 / (1 + x*x)
}

const usefulTilt = 0.4 * math.Pi / 180 // standard deviation of an axis that is of half the use

func (k *looker) newRing(d circleFit, f form, p []r3.Vec) ring {
	share := f.arc / (2 * math.Pi)
	least := fileRounding / (share * share)
	known := func(sigma, least float64) float64 {
		if sigma > least { // false for NaN
			return sigma
		}
		return least
	}
	return ring{
		centre: d.centre, axis: d.axis, radius: d.radius, arc: f.arc, form: f.weight() * useful(d.tilt),
		tilt: known(d.tilt, least), shift: known(d.shift, least*d.radius), points: thin(p, ringPoints),
	}
}

// mostly returns the circle that most of an outline lies on, such as the edge
// of a disc with a tab.
func (k *looker) mostly(o outline) (ring, bool) {
	if len(o.points) < 3*leastTurns {
		return ring{}, false
	}
	p := thin(o.points, 2*ringSample)
	r, count, ok := k.consensus(p, o.points[0], o.normal, mostlyTrials)
	if !ok || 2*count < len(p) || count < 2*leastTurns {
		return ring{}, false
	}
	return r, r.arc > math.Pi
}

const mostlyTrials = 64 // circles through three vertices, of which half are on one

// merged joins rings that lie on one circle, drops the small and the short
// ones and sorts by weight.
func merged(all []ring, least float64) []ring {
	slices.SortStableFunc(all, func(a, b ring) int { return compare(b.radius*b.arc, a.radius*a.arc) })
	var out []ring
	byRadius := map[int][]int{} // of out, in steps of 1 %
	for _, r := range all {
		if !(r.radius > least) {
			continue
		}
		step := int(math.Floor(100 * math.Log(r.radius/least)))
		i := -1
		for s := step - 1; s <= step+1; s++ {
			for _, k := range byRadius[s] {
				if out[k].same(r) && (i < 0 || k < i) {
					i = k
				}
			}
		}
		if i < 0 {
			byRadius[step] = append(byRadius[step], len(out))
			out = append(out, r)
			continue
		}
		o := &out[i]
		if isNew := apart(o.points, r.points) > 0.1*r.radius; isNew {
			o.arc = min(o.arc+r.arc, 2*math.Pi)
			o.points = append(o.points, r.points...)
		}
	}
	for i := range out {
		out[i].points = thin(out[i].points, ringPoints)
	}
	out = slices.DeleteFunc(out, func(r ring) bool { return r.arc < leastCover })
	slices.SortStableFunc(out, func(a, b ring) int { return compare(b.weight(), a.weight()) })
	return out[:min(len(out), mostRingsOfPart)]
}

func (r ring) same(o ring) bool {
	shift, tilt := sameSigmas*math.Hypot(r.shift, o.shift), sameSigmas*math.Hypot(r.tilt, o.tilt)
	return math.Abs(r.radius-o.radius) < 5e-3*r.radius+min(shift, 0.02*r.radius) &&
		r3.Norm(r3.Sub(r.centre, o.centre)) < 1e-2*r.radius+min(shift, 0.1*r.radius) &&
		lineAngle(r.axis, o.axis) < 0.02+min(tilt, 0.05)
}

// apart is the largest distance of a point of b from all points of a.
func apart(a, b []r3.Vec) float64 {
	far := 0.0
	for _, q := range b {
		near := math.Inf(1)
		for _, p := range a {
			near = min(near, r3.Norm(r3.Sub(p, q)))
		}
		far = max(far, near)
	}
	return far
}
