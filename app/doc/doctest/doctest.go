// Package doctest makes a small mechanism whose motion is known in closed
// form, for tests: an arm that swings on a pin between two stops.
package doctest

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// The swing's measures, millimetres and radians, in its own axes: the hinge is
// the z axis, the arm points along x.
const (
	BoreRadius = 5.0
	HubRadius  = 10.0
	HubHalf    = 6.0 // half the hub's length
	Facets     = 48
	ArmHalf    = 2.0 // half the bar's width
)

// FreeRange returns the swing's free range: a corner of either stop meets the
// bar's side, which passes the hinge at the distance ArmHalf.
func FreeRange() kinematics.Range {
	meet := func(x, y float64) float64 { return math.Atan2(y, x) - math.Asin(ArmHalf/math.Hypot(x, y)) }
	return kinematics.Range{Lower: -meet(30, 30), Upper: meet(30, 20)}
}

// Contacts returns the corner of the lower and of the upper stop that the bar
// meets, at the bar's mid height, in the swing's own axes.
func Contacts() (lower, upper r3.Vec) { return r3.Vec{X: 30, Y: -30}, r3.Vec{X: 30, Y: 20} }

// Options change the swing.
type Options struct {
	// Move places the whole in the model; the zero value leaves it where it is.
	Move kinematics.Transform
	// Off moves the hub, bore and outside, off the hinge along x, and Tilt turns
	// it about x: a housing that does not run true.
	Off, Tilt float64
	// Lobes makes the hub's outside not round: HubRadius + Lobes cos 3 phi.
	Lobes float64
}

// Hinge returns the true hinge axis, with the hub's middle as its point.
func (o Options) Hinge() kinematics.Axis {
	x := o.move()
	return kinematics.Axis{Point: x.T, Dir: x.Z}
}

// HubAxis returns the hub's own axis.
func (o Options) HubAxis() kinematics.Axis {
	x := o.move()
	return kinematics.Axis{
		Point: x.Apply(r3.Vec{X: o.Off}),
		Dir:   x.Turn(r3.Vec{Y: -math.Sin(o.Tilt), Z: math.Cos(o.Tilt)}),
	}
}

func (o Options) move() kinematics.Transform {
	if o.Move == (kinematics.Transform{}) {
		return kinematics.Identity()
	}
	return o.Move
}

// Skew is a placement off all world axes.
func Skew() kinematics.Transform {
	x, err := kinematics.Quaternion{0.3, -0.5, 0.2, 0.7}.Transform()
	if err != nil {
		panic(err) // not zero
	}
	x.T = r3.Vec{X: 120, Y: -45, Z: 310}
	return x
}

// Model returns the swing: parts base (a plate and two stops), pin and arm (a
// hub with a bore, and a bar), in millimetres with Z up.
func Model(o Options) *mesh.Model {
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ}
	for _, p := range []struct {
		name string
		make func(b *builder)
	}{
		{"base", func(b *builder) {
			b.box(r3.Vec{X: -20, Y: -20, Z: -10}, r3.Vec{X: 20, Y: 20, Z: -8})
			b.box(r3.Vec{X: 20, Y: 20, Z: -3}, r3.Vec{X: 30, Y: 40, Z: 3})
			b.box(r3.Vec{X: 20, Y: -60, Z: -3}, r3.Vec{X: 30, Y: -30, Z: 3})
		}},
		{"pin", func(b *builder) { b.cylinder(BoreRadius, -9, 8) }},
		{"arm", func(b *builder) {
			b.tilt = kinematics.Rotation(kinematics.Axis{Dir: r3.Vec{X: 1}}, o.Tilt)
			b.tilt.T = r3.Vec{X: o.Off}
			b.hub(o.Lobes)
			b.tilt = kinematics.Identity()
			b.box(r3.Vec{X: 9, Y: -ArmHalf, Z: -2}, r3.Vec{X: 50, Y: ArmHalf, Z: 2})
		}},
	} {
		b := &builder{Builder: mesh.NewBuilder(), tilt: kinematics.Identity(), move: o.move()}
		p.make(b)
		built, _, err := b.Build(mesh.Options{Weld: -1})
		if err != nil {
			panic(err) // its faces are sound
		}
		m.Parts = append(m.Parts, mesh.Part{Name: p.name, Mesh: built})
	}
	return m
}

type builder struct {
	*mesh.Builder
	tilt, move kinematics.Transform
}

func (b *builder) at(x, y, z float64) int32 {
	return b.Vertex(b.move.Apply(b.tilt.Apply(r3.Vec{X: x, Y: y, Z: z})))
}

func (b *builder) box(lo, hi r3.Vec) {
	var v [8]int32
	for i := range v {
		p := lo
		if i&1 != 0 {
			p.X = hi.X
		}
		if i&2 != 0 {
			p.Y = hi.Y
		}
		if i&4 != 0 {
			p.Z = hi.Z
		}
		v[i] = b.at(p.X, p.Y, p.Z)
	}
	for _, f := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		b.Face(v[f[0]], v[f[1]], v[f[2]], v[f[3]])
	}
}

func (b *builder) ring(z float64, radius func(phi float64) float64) []int32 {
	ring := make([]int32, Facets)
	for i := range ring {
		phi := 2 * math.Pi * float64(i) / Facets
		s, c := math.Sincos(phi)
		r := radius(phi)
		ring[i] = b.at(r*c, r*s, z)
	}
	return ring
}

// band joins two rings, outward where a is below b.
func (b *builder) band(a, c []int32) {
	for i := range a {
		k := (i + 1) % len(a)
		b.Face(a[i], a[k], c[k], c[i])
	}
}

func (b *builder) cylinder(radius, z0, z1 float64) {
	r := func(float64) float64 { return radius }
	low, high := b.ring(z0, r), b.ring(z1, r)
	b.band(low, high)
	b.Face(high...)
	down := make([]int32, len(low))
	for i, v := range low {
		down[len(low)-1-i] = v
	}
	b.Face(down...)
}

// hub adds a tube: bore, outside and the two flat ends, with a ring of
// vertices in the middle of the walls.
func (b *builder) hub(lobes float64) {
	bore := func(float64) float64 { return BoreRadius }
	outside := func(phi float64) float64 { return HubRadius + lobes*math.Cos(3*phi) }
	var in, out [3][]int32
	for i, z := range []float64{-HubHalf, 0, HubHalf} {
		in[i], out[i] = b.ring(z, bore), b.ring(z, outside)
	}
	for i := range 2 {
		b.band(out[i], out[i+1])
		b.band(in[i+1], in[i])
	}
	b.band(in[0], out[0])
	b.band(out[2], in[2])
}

// WriteOBJ writes a model as swing.obj into dir and returns its path. Every
// digit is kept.
func WriteOBJ(dir string, m *mesh.Model) (string, error) {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# units: %s\n# %s up\n", m.Unit, m.Up)
	base := 1
	for _, p := range m.Parts {
		fmt.Fprintf(&b, "o %s\n", p.Name)
		for _, v := range p.Mesh.Vertices() {
			fmt.Fprintf(&b, "v %.17g %.17g %.17g\n", v.X, v.Y, v.Z)
		}
		for i := range p.Mesh.NumPolygons() {
			b.WriteByte('f')
			for _, v := range p.Mesh.Polygon(i) {
				fmt.Fprintf(&b, " %d", base+int(v))
			}
			b.WriteByte('\n')
		}
		base += len(p.Mesh.Vertices())
	}
	path := filepath.Join(dir, "swing.obj")
	return path, os.WriteFile(path, b.Bytes(), 0o644)
}

// TriangleAt returns the triangle of the mesh whose plane-wise nearest point to
// p is nearest: the face that a click on p would hit.
func TriangleAt(m *mesh.Mesh, p r3.Vec) int {
	tri, _, _ := m.BVH().Closest(p)
	return tri
}
