package main

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"runtime"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find"
	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/sweep"
)

func at(x, y, z float64) func(r3.Vec) r3.Vec {
	return func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: x, Y: y, Z: z}) }
}

// tube returns a tube about z whose walls are cut into rows and n sides.
func tube(inner, outer, from, to float64, rows, n int) *mesh.Mesh {
	var profile [][2]float64
	for i := range rows + 1 {
		profile = append(profile, [2]float64{outer, from + (to-from)*float64(i)/float64(rows)})
	}
	for i := range rows + 1 {
		profile = append(profile, [2]float64{inner, to + (from-to)*float64(i)/float64(rows)})
	}
	b := mesh.NewBuilder()
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		for _, p := range profile {
			b.Vertex(r3.Vec{X: p[0] * cos, Y: p[0] * sin, Z: p[1]})
		}
	}
	k := len(profile)
	at := func(i, j int) int32 { return int32(i%n*k + j%k) }
	for i := range n {
		for j := range k {
			b.Face(at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1))
		}
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		panic(err) // the faces are as written above
	}
	return m
}

// eyeOnPin is an eye, its bore straight or rounded like a torus, that turns
// about a pin with a gap of 0.1, and with it a ball that a post stops: four
// parts of a quarter of the triangles each.
func eyeOnPin(round bool, triangles int) (moving, still []contact.Body) {
	side := int(math.Sqrt(float64(triangles) / 8)) // two triangles to a cell
	body := func(name string, m *mesh.Mesh) contact.Body { return contact.Body{Name: name, Mesh: m} }
	eye := tube(3.1, 6, -4, 4, side/2, side)
	if round {
		eye = meshtest.Torus(5, 1.9, side, side)
	}
	moving = []contact.Body{body("eye", eye), body("ball", meshtest.Sphere(3, side, side, at(20, 0, 0)))}
	still = []contact.Body{
		body("pin", meshtest.Cylinder(3, -10, 10, side, side, true)),
		body("post", meshtest.Cylinder(2, -6, 8, side, side, true, at(6, 19, 0))),
	}
	return moving, still
}

// hinged returns the scene of the eye on its pin and its free range.
func hinged(round bool, triangles int) (*contact.Scene, contact.Result, error) {
	ctx := context.Background()
	moving, still := eyeOnPin(round, triangles)
	s, err := contact.NewScene(ctx, moving, still, contact.Hinge(kinematics.Axis{Dir: r3.Vec{Z: 1}}), contact.Options{})
	if err != nil {
		return nil, contact.Result{}, fmt.Errorf("preparing the hinge: %w", err)
	}
	free, err := s.FreeRange(ctx, kinematics.Range{Lower: -2 * math.Pi, Upper: 2 * math.Pi})
	if err != nil {
		return nil, contact.Result{}, fmt.Errorf("finding its free range: %w", err)
	}
	if free.Lower == nil || free.Upper == nil {
		return nil, contact.Result{}, fmt.Errorf("the ball went past its post")
	}
	return s, free, nil
}

func within(free contact.Result) kinematics.Range {
	return kinematics.Range{Lower: free.Lower.Value, Upper: free.Upper.Value}
}

// sweepBall returns the envelope of a ball that turns a quarter about an
// oblique hinge, at 500 cells across.
func sweepBall(triangles int) (sweep.Envelope, error) {
	side := int(math.Sqrt(float64(triangles) / 2))
	ball := []*mesh.Mesh{meshtest.Sphere(1, side, side, at(2.5, 0, 0))}
	axis := kinematics.Axis{Dir: r3.Unit(r3.Vec{X: 0.1, Y: 0.2, Z: 1})}
	return sweep.Hinge(context.Background(), ball, axis, kinematics.Range{Upper: math.Pi / 2}, sweep.Options{Resolution: 500})
}

// own measures what has no counterpart among the reference programs, on every
// core that there is.
func (b *bench) own() error {
	runtime.GOMAXPROCS(runtime.NumCPU())
	defer runtime.GOMAXPROCS(1)
	b.row("ours only", "cores", "ms", "target ms", "error", "result")
	for _, round := range []bool{false, true} {
		if err := b.curve(round); err != nil {
			return err
		}
	}
	var err error
	var e sweep.Envelope
	ms := median(func() {
		if err == nil {
			e, err = sweepBall(100_000)
		}
	})
	if err != nil {
		return err
	}
	b.row("envelope, 100k triangles at 1/500", runtime.NumCPU(), ms, 1000, e.Error/e.Volume, fmt.Sprintf("volume %.6g", e.Volume))
	return nil
}

// curve measures the clearance over the free range at 1e-4 of the size.
func (b *bench) curve(round bool) error {
	s, free, err := hinged(round, 200_000)
	if err != nil {
		return err
	}
	var c *contact.Curve
	ms := median(func() {
		if err == nil {
			c, err = s.Curve(context.Background(), within(free), contact.CurveOptions{})
		}
	})
	if err != nil {
		return err
	}
	name := "clearance curve, 200k triangles, straight bore"
	if round {
		name = "the same, bore rounded like a torus"
	}
	b.row(name, runtime.NumCPU(), ms, 200, c.Error, fmt.Sprintf("%d samples", len(c.Samples)))
	return nil
}

// cores says whether results are the same to the bit on one core and on two.
func (b *bench) cores() error {
	b.row("one core and two", "same")
	bad := ""
	for _, c := range []struct {
		name string
		do   func() (any, error)
	}{
		{"free range", func() (any, error) { _, free, err := hinged(false, 50_000); return free, err }},
		{"clearance curve", func() (any, error) {
			s, free, err := hinged(false, 50_000)
			if err != nil {
				return nil, err
			}
			return s.Curve(context.Background(), within(free), contact.CurveOptions{})
		}},
		{"envelope", func() (any, error) {
			e, err := sweepBall(20_000)
			if err != nil {
				return nil, err
			}
			return []any{e.Volume, e.Area, e.Error, e.Deviation, e.Mesh.Vertices(), e.Mesh.Triangles()}, nil
		}},
		{"hierarchy", func() (any, error) {
			t := meshtest.Torus(5, 1.9, 300, 300).BVH()
			return []any{t.Nodes, t.Order}, nil
		}},
		{"found joints", func() (any, error) {
			return find.Joints(context.Background(), findtest.Arm(1).Parts, find.Options{})
		}},
	} {
		var got [2]any
		for i := range got {
			runtime.GOMAXPROCS(i + 1)
			var err error
			if got[i], err = c.do(); err != nil {
				return fmt.Errorf("%s: %w", c.name, err)
			}
		}
		same := reflect.DeepEqual(got[0], got[1])
		if b.row(c.name, same); !same {
			bad = c.name
		}
	}
	runtime.GOMAXPROCS(1)
	if bad != "" {
		b.out.Flush()
		return fmt.Errorf("the %s depends on the number of cores", bad)
	}
	return nil
}
