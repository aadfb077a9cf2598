package solid

import (
	"math"
	"testing"
)

// ngon is the area of a regular polygon with n corners on a circle of radius r.
func ngon(r float64, n int) float64 {
	return float64(n) / 2 * r * r * math.Sin(2*math.Pi/float64(n))
}

// closed checks that every edge is walked once each way.
func closed(t *testing.T, name string, m Mesh) {
	t.Helper()
	edges := map[[2]int32]int{}
	for _, f := range m.Faces {
		for i := range f {
			edges[[2]int32{f[i], f[(i+1)%len(f)]}]++
		}
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
			t.Fatalf("%s: edge %v is walked %d times, back %d times", name, e, n, edges[[2]int32{e[1], e[0]}])
		}
	}
	used := make([]bool, len(m.Vertices))
	for _, f := range m.Faces {
		for _, v := range f {
			used[v] = true
		}
	}
	for v, u := range used {
		if !u {
			t.Errorf("%s: vertex %d is in no face", name, v)
		}
	}
}

func TestVolumesInClosedForm(t *testing.T) {
	square := []P2{{0, 0}, {4, 0}, {4, 3}, {0, 3}}
	lShape := []P2{{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 3}, {0, 3}}
	frustum := func(a, b float64, n int, h float64) float64 { // of similar polygons
		return h / 3 * (ngon(a, n) + ngon(b, n) + math.Sqrt(ngon(a, n)*ngon(b, n)))
	}
	for _, c := range []struct {
		name string
		m    Mesh
		want float64
	}{
		{"drum", Drum(2, -1, 3, 0, 40), 4 * ngon(2, 40)},
		{"drum with chamfers", Drum(2, 0, 3, 0.5, 40), 2*ngon(2, 40) + 2*frustum(2, 1.5, 40, 0.5)},
		{"ring", Ring(3, 2, 0, 1, 0, 30), ngon(3, 30) - ngon(2, 30)},
		{"cone", Turned([]P2{{0, 0}, {2, 0}, {0, 3}}, 24), ngon(2, 24)},
		{"slab", Extruded(Slab{Outline: square, Z0: 1, Z1: 3}), 24},
		{"slab, clockwise outline", Extruded(Slab{Outline: []P2{{0, 0}, {0, 3}, {4, 3}, {4, 0}}, Z1: 2}), 24},
		{"concave slab", Extruded(Slab{Outline: lShape, Z1: 2}), 12},
		{"slab with two holes", Extruded(Slab{Outline: square, Holes: [][]P2{Circle(1, 1.5, 0.5, 16), Circle(3, 1.5, 0.7, 20)}, Z1: 2}), 24 - 2*(ngon(0.5, 16)+ngon(0.7, 20))},
		{"block", Block(2, 3, 4, 0, 0), 24},
		// The chamfer takes a prism along each upper and lower edge, less a
		// third of a cube at each corner, where two prisms meet.
		{"block with chamfers", Block(2, 3, 4, 0, 0.5), 24 - 2*(2*(2+3)*0.125-4*0.125/3)},
		{"loft", Lofted([][]Vec{Section(square, World()), Section(square, Shift(1, 2, 5))}), 60},
		{"bar", Pipe([]Vec{{}, {X: 10}}, 1, 12, 4), 10 * ngon(1, 12)},
	} {
		closed(t, c.name, c.m)
		if v := c.m.Volume(); math.Abs(v-c.want) > 1e-12*c.want {
			t.Errorf("%s: volume %.15g, want %.15g", c.name, v, c.want)
		}
	}
}

func TestFastenersAreClosed(t *testing.T) {
	for name, m := range map[string]Mesh{
		"cap screw": CapScrew(5, 6), "small cap screw": CapScrew(2, 2), "hexagon bolt": HexBolt(8, 6), "motor": Motor(20, 60, 5, 32),
		"gear": Extruded(Slab{Outline: Gear(12, 8, 10), Holes: [][]P2{Circle(0, 0, 4, 16)}, Z1: 3}),
	} {
		closed(t, name, m)
		if m.Volume() <= 0 {
			t.Errorf("%s is turned inside out", name)
		}
	}
}

func TestRoundedCorners(t *testing.T) {
	// A square with all corners rounded to half its side is a circle.
	p := Rounded([]Corner{{-1, -1, 1}, {1, -1, 1}, {1, 1, 1}, {-1, 1, 1}}, Deg(15))
	for _, q := range p {
		if math.Abs(q.norm()-1) > 1e-14 {
			t.Errorf("point %v is not on the circle", q)
		}
	}
	if a := area2(p) / 2; a < 0 || math.Abs(a-ngon(1, 24)) > 1e-9 {
		t.Errorf("area is %g, want %g", a, ngon(1, 24))
	}
}

func TestHull(t *testing.T) {
	p := Hull([]P2{{0, 0}, {2, 0}, {1, 0}, {1, 1}, {2, 2}, {0, 2}, {0.5, 0.5}})
	if len(p) != 4 || area2(p) != 8 {
		t.Errorf("hull is %v, want the square's four corners, counter-clockwise", p)
	}
}

func TestFramesCompose(t *testing.T) {
	f := World().Then(Shift(1, 2, 3), TurnZ(Deg(90)), Shift(1, 0, 0))
	if d := f.At(Vec{X: 1}).Sub(Vec{1, 4, 3}).Norm(); d > 1e-15 {
		t.Errorf("point lands at %v", f.At(Vec{X: 1}))
	}
	for name, f := range map[string]Frame{"x": TurnX(0.3), "y": TurnY(0.3), "z": TurnZ(0.3), "along x": AlongX(), "along y": AlongY()} {
		if d := f.X.Cross(f.Y).Sub(f.Z).Norm(); d > 1e-15 {
			t.Errorf("frame %s is not right-handed", name)
		}
		p := Vec{1, 2, 3}
		if d := f.Local(f.At(p)).Sub(p).Norm(); d > 1e-15*8 {
			t.Errorf("frame %s does not lead back", name)
		}
	}
}

// Triangles of a holed outline cover it once: their areas are positive and sum
// to its own.
func TestTriangulationCoversTheOutline(t *testing.T) {
	outline := Rounded([]Corner{{-30, -20, 5}, {30, -20, 8}, {24, 20, 3}, {0, 6, 4}, {-24, 20, 3}}, Deg(10))
	var points []P2
	var loops [][]int32
	want := 0.0
	for k, p := range [][]P2{outline, Circle(-15, 0, 5, 17), Circle(15, -2, 7, 23), Slot(P2{-4, -12}, P2{6, -12}, 2, 16)} {
		var l []int32
		for _, q := range counterClockwise(p) {
			l = append(l, int32(len(points)))
			points = append(points, q)
		}
		loops = append(loops, l)
		if a := math.Abs(area2(p)) / 2; k == 0 {
			want += a
		} else {
			want -= a
		}
	}
	tris := triangulate(loops, func(v int32) P2 { return points[v] })
	if n := len(points) + 2*(len(loops)-1) - 2; len(tris) != n {
		t.Errorf("%d triangles, want %d", len(tris), n)
	}
	sum := 0.0
	for _, v := range tris {
		a := orient(points[v[0]], points[v[1]], points[v[2]]) / 2
		if a <= 0 {
			t.Errorf("triangle %v has area %g", v, a)
		}
		sum += a
	}
	if math.Abs(sum-want) > 1e-10*want {
		t.Errorf("triangles cover %g, want %g", sum, want)
	}
}
