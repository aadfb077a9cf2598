package findtest

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// limb is where a mechanism can grow: a part, a point of it and the direction
// in which it leads on.
type limb struct {
	part        int
	anchor, out r3.Vec
}

// extend grows a limb by a body of the given length, a joint and what the next
// part has of it. turn is the joint's turn about the body: quarters mostly.
func (g *maker) extend(from limb, name string, f fitting, s, length, turn float64) (limb, int) {
	d := from.out
	var x mesh.Rigid
	for try := range 12 {
		side := About(r3.Vec{}, d, turn).Turn(across(d))
		if f.parent.out.X == 0 && g.chance(0.6) {
			x = Frame(r3.Vec{}, d, side)
		} else { // for a round housing an elbow: the body ends beside it
			x = Frame(r3.Vec{}, side, d)
		}
		if g.room == nil || g.room(x.Turn(f.child.out)) {
			break
		}
		turn += math.Pi / 2 * float64(1+try%3)
	}
	end := r3.Add(from.anchor, r3.Scale(length, d))
	x.T = r3.Sub(end, x.Turn(f.parent.anchor))
	g.add(from.part, x, f.parent.shells...)
	g.body(from.part, from.anchor, end, s)
	child := g.part(name)
	g.add(child, x, f.child.shells...)
	j := g.joint(fmt.Sprintf("joint to %s", name), from.part, child, x, f)
	return limb{child, x.Apply(f.child.anchor), x.Turn(f.child.out)}, j
}

// quarters is a multiple of a quarter turn, at times any angle.
func (g *maker) quarters() float64 {
	if g.chance(0.1) {
		return g.between(0, 2*math.Pi)
	}
	return float64(g.r.IntN(4)) * math.Pi / 2
}

// chain grows a limb by n hinges; sizes fall from joint to joint.
func (g *maker) chain(from limb, name string, n int, s, length float64) limb {
	for i := range n {
		f := g.hinge(g.class(), s)
		from, _ = g.extend(from, fmt.Sprintf("%s %d", name, i+1), f, s, length*g.between(0.6, 1.2), g.quarters())
		s *= g.between(0.8, 1)
		length *= 0.9
	}
	return from
}

// end gives the last part of a limb a body and a tip.
func (g *maker) end(l limb, s, length float64) {
	b := r3.Add(l.anchor, r3.Scale(length, l.out))
	g.body(l.part, l.anchor, b, s)
	tip := Frame(b, l.out, across(l.out))
	switch g.r.IntN(3) {
	case 0:
		g.add(l.part, tip, g.lump(r3.Vec{X: -0.6 * s, Y: -0.6 * s, Z: -0.2 * s}, r3.Vec{X: 0.6 * s, Y: 0.6 * s, Z: 0.8 * s}, 40))
	case 1:
		g.add(l.part, tip, Extrude(Circle(0, 0, 0.6*s, g.around()), g.bolts(0.4*s, 0.06*s, 4, 0), -0.1*s, 0.2*s))
	default:
		g.add(l.part, tip, g.slab(-0.5*s, -0.3*s, -0.2*s, 0.5*s, 0.3*s, 0.5*s))
	}
}

// body joins two points of a part in one of the trade's ways, and hangs on it
// what tells nothing about the joints.
func (g *maker) body(part int, a, b r3.Vec, s float64) {
	d := r3.Sub(b, a)
	l := r3.Norm(d)
	if l < 0.3*s {
		return
	}
	d = r3.Scale(1/l, d)
	x := Frame(a, d, About(r3.Vec{}, d, g.quarters()).Turn(across(d)))
	w, over := s*g.between(0.4, 0.6), 0.25*s
	switch g.r.IntN(6) {
	case 0: // a beam, its edges rounded
		g.add(part, x, g.slab(-w, -0.8*w, -over, w, 0.8*w, l+over))
	case 1: // a tube
		g.add(part, x, g.rod(0.8*w, -over, l+over))
	case 2: // a hollow casting: an outer and an inner skin
		g.add(part, x, g.slab(-w, -w, -over, w, w, l+over), inward(g.slab(-0.8*w, -0.8*w, 0, 0.8*w, 0.8*w, l)))
	case 3: // plates with holes
		g.plates(part, a, d, l, w)
	case 4: // a tapered shell
		var at []r3.Vec
		for i, p := range Rounded(-w, -0.7*w, w, 0.7*w, 0.5*w, 6) {
			at = append(at, r3.Vec{X: p.X, Y: p.Y, Z: -over}, r3.Vec{X: 0.7 * p.X, Y: 0.9 * p.Y, Z: l + over})
			if i%3 == 0 {
				at = append(at, r3.Vec{X: 1.05 * p.X, Y: 1.05 * p.Y, Z: g.between(0, l)})
			}
		}
		g.add(part, x, Hull(at))
	default: // a casting
		g.add(part, x, g.lump(r3.Vec{X: -w, Y: -w, Z: -over}, r3.Vec{X: w, Y: w, Z: l + over}, 60))
	}
	g.clutter(part, x, l, w)
}

// inward is the mesh turned inside out, as the inner wall of a housing.
func inward(m *mesh.Mesh) *mesh.Mesh {
	tris := make([][3]int32, len(m.Triangles()))
	for i, t := range m.Triangles() {
		tris[i] = [3]int32{t[0], t[2], t[1]}
	}
	return ofTriangles(m.Vertices(), tris)
}

// plates is two plates along d with lightening holes, all alike and parallel.
func (g *maker) plates(part int, a, d r3.Vec, l, w float64) {
	x := Frame(a, About(r3.Vec{}, d, g.quarters()).Turn(across(d)), d)
	var holes []Hole
	r := 0.5 * w
	for at := 1.5 * r; at < l-1.5*r && len(holes) < 6; at += 3.2 * r {
		holes = append(holes, g.hole(at, 0, r))
	}
	if l < 0.5*w {
		holes = nil
	}
	for _, z := range []float64{-0.8 * w, 0.5 * w} {
		g.add(part, x, Extrude(Rounded(-w, -w, l+w, w, 0.6*w, 6), holes, z, z+0.3*w))
	}
	for i := range 2 { // distance sleeves
		g.add(part, x, mesh.Moved(g.rod(0.2*w, -0.6*w, 0.6*w), Shift(r3.Vec{X: -0.6*w + float64(i)*(l+1.2*w), Y: 0.6 * w})))
	}
}

// clutter hangs bolts, badges, cable bosses and motors on a body along z.
func (g *maker) clutter(part int, x mesh.Rigid, l, w float64) {
	side := func(z float64) mesh.Rigid { // outward from a side of the body
		x := Then(x, About(r3.Vec{}, r3.Vec{Z: 1}, float64(g.r.IntN(4))*math.Pi/2))
		return Then(x, Frame(r3.Vec{X: w, Z: z}, r3.Vec{X: 1}, r3.Vec{Z: 1}))
	}
	if g.chance(0.3) { // a row of bolts, all alike
		at := side(l / 2)
		for i := range 4 {
			p := r3.Vec{X: (float64(i%2) - 0.5) * 0.5 * l, Y: (float64(i/2) - 0.5) * 0.8 * w}
			bolt := []*mesh.Mesh{g.rod(0.14*w, -0.02*w, 0.12*w), g.rod(0.07*w, -0.3*w, 0.1*w)}
			if g.loose && i == 0 {
				loose := g.part(fmt.Sprintf("screw %d", len(g.m.Parts)))
				g.m.Fixed = append(g.m.Fixed, [2]int{part, loose})
				g.add(loose, Then(at, Shift(p)), bolt...)
				continue
			}
			g.add(part, Then(at, Shift(p)), bolt...)
		}
	}
	if g.chance(0.2) { // a badge or cover
		cover := g.slab(-0.3*l, -0.6*w, -0.05*w, 0.3*l, 0.6*w, 0.08*w)
		at, into := side(l/2), part
		if g.loose {
			into = g.part(fmt.Sprintf("cover %d", len(g.m.Parts)))
			g.m.Fixed = append(g.m.Fixed, [2]int{part, into})
		}
		g.add(into, at, cover)
	}
	if g.chance(0.25) { // a cable boss
		g.add(part, side(g.between(0.3, 0.7)*l), g.tube(0.2*w, 0.32*w, -0.2*w, 0.4*w))
	}
	for range g.busy { // sockets, plugs, feet: circles of every size, near the joints too
		r, at := g.between(0.1, 0.5)*w, side(g.between(0.02, 0.98)*l)
		if g.chance(0.5) {
			g.add(part, at, g.tube(0.6*r, r, -0.1*w, g.between(0.05, 0.3)*w))
		} else {
			g.add(part, at, g.rod(r, -0.1*w, g.between(0.05, 0.3)*w))
		}
	}
	if g.chance(0.2) { // a motor across
		g.add(part, side(0.5*l), g.rod(0.6*w, -0.3*w, 1.4*w), g.rod(0.15*w, 1.3*w, 1.5*w))
	}
}
