package sweep

import (
	"context"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// ballOf returns a ball beside the z axis with about n triangles.
func ballOf(n int) []*mesh.Mesh {
	side := int(math.Sqrt(float64(n)))
	b := meshtest.Sphere(1, side, side/2+1, moved(r3.Vec{X: 2.5}))
	b.BVH()
	return []*mesh.Mesh{b}
}

// overTriangles runs a sweep of balls of ever more triangles.
func overTriangles(b *testing.B, cells []int, sweep func(bodies []*mesh.Mesh, o Options) (Envelope, error)) {
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		bodies := ballOf(n)
		for _, c := range cells {
			b.Run(fmt.Sprintf("triangles=%d/cells=%d", n, c), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := sweep(bodies, Options{Resolution: c}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkHinge(b *testing.B) {
	axis := kinematics.Axis{Dir: r3.Unit(r3.Vec{X: 0.1, Y: 0.2, Z: 1})}
	overTriangles(b, []int{100, 500}, func(bodies []*mesh.Mesh, o Options) (Envelope, error) {
		return Hinge(context.Background(), bodies, axis, degrees(-30, 60), o)
	})
}

func BenchmarkSlide(b *testing.B) {
	overTriangles(b, []int{100, 500}, func(bodies []*mesh.Mesh, o Options) (Envelope, error) {
		return Slide(context.Background(), bodies, r3.Vec{X: 0.1, Y: 0.2, Z: 1}, kinematics.Range{Upper: 3}, o)
	})
}

func BenchmarkScrew(b *testing.B) {
	overTriangles(b, []int{100, 200}, func(bodies []*mesh.Mesh, o Options) (Envelope, error) {
		return Screw(context.Background(), bodies, upAxis(), 0.3, degrees(-30, 200), o)
	})
}

func BenchmarkSwing(b *testing.B) {
	j := kinematics.Joint{Kind: kinematics.Spherical, Frame: upFrame(), Cone: &kinematics.Cone{Max: []float64{0.6}}}
	over := []kinematics.Range{kinematics.Unlimited(), kinematics.Unlimited(), degrees(-20, 20)}
	overTriangles(b, []int{100, 200}, func(bodies []*mesh.Mesh, o Options) (Envelope, error) {
		return Joint(context.Background(), bodies, j, over, o)
	})
}

// An arm of six hinges, turned over a radian each.
func BenchmarkLimb(b *testing.B) {
	for _, n := range []int{1000, 100_000} {
		var arm Link
		for k := 5; k >= 0; k-- {
			f := kinematics.Frame{Origin: r3.Vec{X: float64(k)}, Hinge: r3.Unit(r3.Vec{X: 0.1, Y: float64(k % 2), Z: float64(1 - k%2)})}
			f.Reach = kinematics.Perpendicular(f.Hinge)
			side := int(math.Sqrt(float64(n / 6)))
			l := Link{
				Bodies: []*mesh.Mesh{meshtest.Sphere(0.5, side, side/2+1, moved(r3.Vec{X: float64(k) + 0.5}))},
				Joint:  kinematics.Joint{Kind: kinematics.Revolute, Frame: f}, Over: []kinematics.Range{{Lower: -0.5, Upper: 0.5}},
			}
			if k < 5 {
				l.Next = []Link{arm}
			}
			arm = l
		}
		for _, c := range []int{100, 200} {
			b.Run(fmt.Sprintf("triangles=%d/cells=%d", n, c), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Limb(context.Background(), arm, Options{Resolution: c}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkCarve(b *testing.B) {
	e, err := Hinge(context.Background(), ballOf(10_000), upAxis(), degrees(-30, 60), Options{Resolution: 200})
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		side := int(math.Sqrt(float64(n)))
		still := []*mesh.Mesh{meshtest.Sphere(1, side, side/2+1, moved(r3.Vec{X: 2.5, Y: 0.4, Z: 1.2}))}
		still[0].Topology()
		still[0].BVH()
		b.Run(fmt.Sprintf("triangles=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Carve(context.Background(), e, ballOf(1000), still, CarveOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
