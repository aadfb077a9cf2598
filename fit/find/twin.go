package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// twin is a motion that takes the child of a link to where the child of a link
// of two parts of the same kind stands: about, or along, the joint's axis.
type twin struct {
	kind         Kind
	axis, origin r3.Vec
	angle        float64 // turned by, radians
	tilt, shift  float64 // how well the axis is known
	same         bool    // a part of the link is its own twin, by a symmetry of its own
}

const (
	leastTwinTurn = 0.02 // radians
	twinTurned    = 1e-4 // of the size, most slide of a turn along its axis
	twinReach     = 1.0  // radii of the near surface, of the axis from its middle
)

// family says which parts are of one kind: congruent or mirror images.
type family struct {
	first []int        // for each part the first one of its kind
	from  []likeness   // that one onto the part
	own   [][]likeness // of first parts onto themselves
}

func (w *work) families(shapes []shape) family {
	f := family{make([]int, len(w.parts)), make([]likeness, len(w.parts)), make([][]likeness, len(w.parts))}
	for i := range w.parts {
		f.first[i] = i
		f.from[i].Rigid = mesh.Identity()
		for r := 0; r < i; r++ {
			if f.first[r] != r {
				continue
			}
			if x := likenesses(w.parts[r].mesh, w.parts[i].mesh, shapes[r], shapes[i]); len(x) > 0 {
				f.first[i], f.from[i] = r, x[0]
				break
			}
		}
	}
	return f
}

// between returns the maps of part i onto part j.
func (f *family) between(w *work, shapes []shape, i, j int) []likeness {
	r := f.first[i]
	if r != f.first[j] {
		return nil
	}
	if f.own[r] == nil {
		f.own[r] = likenesses(w.parts[r].mesh, w.parts[r].mesh, shapes[r], shapes[r])
	}
	out := make([]likeness, len(f.own[r]))
	back := f.from[i]
	back.Rigid = back.Inverse()
	for k, x := range f.own[r] {
		out[k] = f.from[j].after(x.after(back))
	}
	return out
}

// after is the map o followed by x.
func (x likeness) after(o likeness) likeness {
	return likeness{
		Rigid:   mesh.Rigid{X: x.Turn(o.X), Y: x.Turn(o.Y), Z: x.Turn(o.Z), T: x.Apply(o.T)},
		mirrors: x.mirrors != o.mirrors, off: x.off + o.off,
	}
}

const mostTwins = 8 // other pairs of the same kinds that a pair is compared with

// twins looks for pairs of parts of the same kinds: congruent parts, or mirror
// images, that are near one another in the same way up to a motion, which is
// the motion that their joint allows.
func (w *work) twins(links []link, shapes []shape, f *family) {
	byKinds := map[[2]int][]int{}
	for i, l := range links {
		p, q := f.first[l.a], f.first[l.b]
		key := [2]int{min(p, q), max(p, q)}
		byKinds[key] = append(byKinds[key], i)
	}
	for i := range links {
		l := &links[i]
		p, q := f.first[l.a], f.first[l.b]
		n := 0
		for _, j := range byKinds[[2]int{min(p, q), max(p, q)}] {
			if n >= mostTwins {
				break
			}
			o := &links[j]
			if i == j {
				continue
			}
			for _, other := range [][2]int{{o.a, o.b}, {o.b, o.a}} {
				if f.first[other[0]] != p || f.first[other[1]] != q {
					continue
				}
				n++
				w.compare(l, f.between(w, shapes, l.a, other[0]), f.between(w, shapes, l.b, other[1]), l.a == other[0] || l.b == other[1])
			}
		}
	}
}

// compare adds the motions between the link and another one of the same kinds,
// unless these stand alike. A motion that takes a part onto itself, as any about
// the axis of a turned part, is none that could be seen.
func (w *work) compare(l *link, pa, pb []likeness, same bool) {
	var found []twin
	for _, p := range pa {
		for _, q := range pb {
			if p.mirrors != q.mirrors {
				continue
			}
			if l.alike(p, q) {
				return
			}
			t, ok := l.twin(p, q)
			if !ok || t.shift > twinOffset*l.size || t.tilt > twinAngle {
				continue
			}
			x := about(t.origin, t.axis, t.angle)
			if w.parts[l.a].ontoItself(x) || w.parts[l.b].ontoItself(x) {
				continue
			}
			t.same = same
			found = append(found, t)
		}
	}
	l.twins = append(l.twins, found...)
}

// alike reports whether two likenesses are one, so that the parts stand alike.
func (l *link) alike(p, q likeness) bool {
	limit := twinOffset*l.size + p.off + q.off
	for _, s := range [2][]spot{l.za, l.zb} {
		for i := 0; i < len(s); i += 1 + len(s)/8 {
			if r3.Norm(r3.Sub(p.Apply(s[i].at), q.Apply(s[i].at))) > limit {
				return false
			}
		}
	}
	return true
}

// ontoItself reports whether a motion takes a part onto itself.
func (p *part) ontoItself(x mesh.Rigid) bool {
	v := p.mesh.Vertices()
	for i := 0; i < len(v); i += 1 + len(v)/likeSamples {
		if _, _, d := p.mesh.BVH().Closest(x.Apply(v[i])); d > twinOffset*p.diagonal {
			return false
		}
	}
	return true
}

// about is the turn by an angle about the line through o along unit a.
func about(o, a r3.Vec, angle float64) mesh.Rigid {
	rot := r3.NewRotation(angle, a)
	x := mesh.Rigid{X: rot.Rotate(r3.Vec{X: 1}), Y: rot.Rotate(r3.Vec{Y: 1}), Z: rot.Rotate(r3.Vec{Z: 1})}
	x.T = r3.Sub(o, x.Turn(o))
	return x
}

// twin compares two likenesses: what takes part b to where the other's part b
// stands against part a.
func (l *link) twin(pa, pb likeness) (twin, bool) {
	if pa.mirrors != pb.mirrors {
		return twin{}, false
	}
	c, radius := centreOf(l.za, l.zb)
	if radius == 0 {
		return twin{}, false
	}
	back := pa.Inverse()
	x := mesh.Rigid{X: back.Turn(pb.X), Y: back.Turn(pb.Y), Z: back.Turn(pb.Z)}
	d := r3.Sub(back.Apply(pb.Apply(c)), c) // the shift of the zone's middle
	s := r3.Scale(0.5, r3.Vec{X: x.Y.Z - x.Z.Y, Y: x.Z.X - x.X.Z, Z: x.X.Y - x.Y.X})
	angle := math.Atan2(r3.Norm(s), (x.X.X+x.Y.Y+x.Z.Z-1)/2)
	off := pa.off + pb.off + 1e-9*l.size
	if angle < leastTwinTurn || angle > math.Pi-1e-3 {
		return twin{}, false
	}
	t := twin{kind: Revolute, axis: r3.Unit(s), angle: angle, tilt: off / l.size / math.Sin(angle/2), shift: off / math.Sin(angle/2)}
	along := r3.Dot(d, t.axis)
	if math.Abs(along) > twinTurned*l.size+3*off {
		return twin{}, false
	}
	d = r3.Sub(d, r3.Scale(along, t.axis))
	t.origin = r3.Add(c, r3.Scale(0.5, r3.Add(d, r3.Scale(1/math.Tan(angle/2), r3.Cross(t.axis, d)))))
	return t, fromLine(c, t.origin, t.axis) < twinReach*radius
}

// Axes are the same within these and what the twins leave open.
const (
	twinAngle  = 2e-3 // radians
	twinOffset = 1e-3 // of the smaller part's diagonal
)

func (t twin) agrees(kind Kind, axis, origin r3.Vec, size float64) bool {
	return t.kind == kind && lineAngle(t.axis, axis) < twinAngle+3*t.tilt && (kind == Prismatic || fromLine(t.origin, origin, axis) < twinOffset*size+3*t.shift)
}

// addTwins gives the hypotheses that twins speak for their support, and adds
// the axes that nothing else shows.
func (l *link) addTwins() {
	left := l.twins
	for len(left) > 0 {
		// The twin that turned farthest knows the axis best.
		best := 0
		for i, t := range left {
			if compare(t.shift, left[best].shift) < 0 {
				best = i
			}
		}
		t := left[best]
		var same, rest []twin
		for _, o := range left {
			if o.agrees(t.kind, t.axis, t.origin, l.size) {
				same = append(same, o)
			} else {
				rest = append(rest, o)
			}
		}
		if len(same) == 0 { // not finite
			same, rest = left[best:best+1], append(left[:best:best], left[best+1:]...)
		}
		left = rest
		l.supportByTwins(t, len(same))
	}
}

func (l *link) supportByTwins(t twin, n int) {
	share := float64(n) / float64(len(l.twins))
	found := false
	for i := range l.axes {
		h := &l.axes[i]
		if t.agrees(h.Kind, h.Axis.Axis, h.Origin, l.size) {
			h.feats[fTwin], h.Evidence.Twins, found = share, n, true
		}
	}
	// Symmetries of a part that hangs nothing on itself alike give false ones,
	// and so do parts that other joints with parallel axes move.
	if found || t.same || n < len(l.twins)-n {
		return
	}
	h := hypothesis{Axis: Axis{Kind: t.kind, Axis: t.axis, Origin: t.origin}}
	h.Evidence.Twins = n
	if t.kind == Revolute {
		l.turns(&h)
	} else {
		l.slides(&h)
	}
	h.feats[fTwinOnly] = share
	l.axes = append(l.axes, h)
}

// unlike tells every hypothesis whether the parts are of one kind.
func (l *link) unlike(f *family) {
	if f.first[l.a] == f.first[l.b] {
		return
	}
	for i := range l.axes {
		l.axes[i].feats[fUnlike] = 1
	}
}
