package draft

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func hinge() kinematics.Frame {
	// Seen by front(), angles run counter-clockwise from the right.
	return kinematics.Frame{Hinge: r3.Vec{Y: -1}, Reach: r3.Vec{X: 1}}
}

// A plain line covers its length times the pen, whatever the scale.
func TestLineArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := vecGen(4).Draw(t, "a"), vecGen(4).Draw(t, "b")
		scale := rapid.Float64Range(0.5, 3).Draw(t, "scale")
		wide := rapid.Bool().Draw(t, "wide")
		v := front(1000, 1000)
		v.Scale = scale
		d := drawAll(Scene{Marks: []Mark{Line{From: a, To: b, Wide: wide}}}, v)
		length := math.Hypot(a.X-b.X, a.Z-b.Z) * 100
		if length < 1 {
			t.Skip("too short to see")
		}
		pen := narrowPen * scale
		if wide {
			pen = widePen * scale
		}
		got, oneWay := area(d.Items[0].Tris)
		if math.Abs(got-length*pen) > 1e-6*length*pen || !oneWay {
			t.Fatalf("covers %g, want %g; turns one way: %v", got, length*pen, oneWay)
		}
	})
}

func TestTrianglesTurnOneWay(t *testing.T) {
	f := hinge()
	box := meshtest.Box(r3.Vec{X: 1, Y: -1, Z: -1}, r3.Vec{X: 3, Y: 1, Z: 1})
	s := Scene{Parts: []PartView{{Mesh: box}}, Marks: everyMark(f, box)}
	rapid.Check(t, func(t *rapid.T) {
		v := cameraGen().Draw(t, "camera").View(640, 480, 1, s.Bounds())
		for i, item := range drawAll(s, v).Items {
			if _, oneWay := area(item.Tris); !oneWay {
				t.Fatalf("item %d has triangles that turn both ways", i)
			}
			for _, p := range item.Tris {
				if !finite(p.X + p.Y) {
					t.Fatalf("item %d has a corner at %v", i, p)
				}
			}
		}
	})
}

// everyMark returns one mark of each kind.
func everyMark(f kinematics.Frame, m *mesh.Mesh) []Mark {
	r := kinematics.Range{Lower: -0.5, Upper: 2}
	var marks []Mark
	for _, k := range kinematics.Kinds() {
		marks = append(marks, JointSign{Kind: k, Frame: f})
	}
	return append(marks,
		Line{To: r3.Vec{X: 3}, Type: Dashed, Label: "line"},
		Polyline{Points: []r3.Vec{{}, {X: 1}, {X: 1, Z: 1}}, Closed: true, Depth: Faded},
		AxisLine{Axis: f.Axis(), Label: "axis"},
		FrameMark{Frame: f, Letters: [3]string{"Z", "Y", "X"}},
		Sector{Frame: f, Range: r, Radius: 3, Ink: InkRange},
		DimArc{Frame: f, Range: r, Radius: 2, Text: "143.2°"},
		Dimension{B: r3.Vec{X: 2}, Offset: r3.Vec{Z: 1}, Text: "2.00"},
		Point{At: r3.Vec{X: 1}}, Point{Shape: RingSign}, Point{Shape: CrossSign},
		Label{At: r3.Vec{X: 1}, Text: "label"}, Label{Text: "first contact", Leader: true, Bold: true},
		Balloon{Text: "1"}, Balloon{At: r3.Vec{X: 2}, Text: "12", Filled: true}, Balloon{Text: "100-7"},
		EdgeSet{Mesh: m, Edges: []int32{0, 1, 2, 99, -1}},
		Patch{Mesh: m, Triangles: []int32{0, 1, 99, -1}}, Vertices{At: m.Vertices()},
		Extreme{Mesh: m, Motion: kinematics.Identity()},
		Revolved{Axis: f.Axis(), From: -1, To: 1, Radius: 1, Radius2: 2},
		Ring{Axis: f.Axis(), Radius: 1, Centre: true}, Ball{Radius: 1},
		Tube{Axis: f.Axis(), Radius: 3, Radius2: 1}, Plane{Normal: f.Hinge, Half: 2},
		TitleBlock{Title: "arm", Note: "12 triangles", Rows: [][]string{{"unit mm", "up Z"}}},
		Compass{}, ScaleBar{Unit: "mm"},
	)
}

// Marks that have nothing sensible to show draw nothing and harm nothing.
func TestMarksBadInput(t *testing.T) {
	nan := math.NaN()
	bad := r3.Vec{X: nan, Y: math.Inf(1), Z: 1e308}
	empty, _, err := mesh.NewBuilder().Build(mesh.Options{})
	if err != nil {
		empty = nil
	}
	s := Scene{Marks: []Mark{
		nil,
		Line{From: bad},
		Line{},
		Polyline{},
		Polyline{Points: []r3.Vec{bad, {}, bad}, Closed: true},
		AxisLine{},
		AxisLine{Axis: kinematics.Axis{Dir: bad}},
		FrameMark{},
		FrameMark{Frame: kinematics.Frame{Origin: bad}},
		Sector{},
		Sector{Frame: hinge(), Range: kinematics.Range{Lower: nan}, Radius: 1},
		Sector{Frame: hinge(), Range: kinematics.Range{Upper: math.Inf(1)}, Radius: 1},
		Sector{Frame: hinge(), Range: kinematics.Range{Upper: 1e9}, Radius: 1e300},
		DimArc{Frame: hinge(), Range: kinematics.Range{Upper: 1}, Radius: -1, Text: "x"},
		DimArc{Frame: hinge(), Range: kinematics.Range{Upper: 1e-12}, Radius: 1, Text: "0"},
		Dimension{},
		Dimension{A: bad, Text: "x"},
		Point{At: bad},
		Label{At: bad, Text: "x"},
		Label{},
		Balloon{At: bad},
		Balloon{},
		EdgeSet{},
		EdgeSet{Mesh: empty, Edges: []int32{0}},
		Patch{},
		Patch{Mesh: empty, Triangles: []int32{0}},
		Vertices{At: []r3.Vec{bad}},
		Extreme{},
		Extreme{Mesh: empty},
		Revolved{},
		Revolved{Axis: kinematics.Axis{Dir: r3.Vec{Z: 1}}, Radius: 1, Radius2: 1},
		Ring{},
		Ball{},
		Ball{Centre: bad, Radius: nan},
		Tube{},
		Plane{},
		JointSign{},
		JointSign{Frame: kinematics.Frame{Origin: bad}},
		TitleBlock{},
		ScaleBar{},
	}}
	for _, c := range []Camera{{Height: 10}, {Height: 10, FOV: 1}, {Height: 1e-9}, {Height: 1e12, FOV: 0.5}} {
		v := c.View(200, 100, 1, s.Bounds())
		for i, item := range drawAll(s, v).Items {
			for _, p := range item.Tris {
				if math.IsNaN(p.X + p.Y) {
					t.Errorf("camera %+v: item %d has a corner at %v", c, i, p)
					break
				}
			}
		}
	}
}

func TestDrawIsDeterministic(t *testing.T) {
	box := meshtest.Box(r3.Vec{X: 1, Y: -1, Z: -1}, r3.Vec{X: 3, Y: 1, Z: 1})
	s := Scene{Parts: []PartView{{Mesh: box}}, Marks: everyMark(hinge(), box)}
	v := Camera{Height: 10}.Straight(Axonometric).View(800, 600, 1, s.Bounds())
	want := drawAll(s, v)
	memo := &Memo{}
	for range 3 {
		got := Draw(s, v, Tools{Measurer: plainMeasure{}, Memo: memo})
		if !reflect.DeepEqual(got, want) {
			t.Fatal("the same scene and view gave another drawing")
		}
	}
	if len(memo.keys) != 1 {
		t.Errorf("the memo holds %d outlines, want 1", len(memo.keys))
	}
}

// The arc of a dimension keeps its radius, and its heads point along it.
func TestDimArc(t *testing.T) {
	v := front(1000, 1000)
	c := newCanvas(Scene{}, v, Tools{Measurer: plainMeasure{}})
	f := hinge()
	points := c.arcPoints(f, kinematics.Range{Lower: -0.5, Upper: 1.5}, 3)
	for _, p := range points {
		if math.Abs(r3.Norm(p)-3) > 1e-12 {
			t.Fatalf("arc point %v at radius %g, want 3", p, r3.Norm(p))
		}
	}
	first, last := points[0], points[len(points)-1]
	wantVec(t, "start", first, r3.Vec{X: 3 * math.Cos(0.5), Z: -3 * math.Sin(0.5)}, 1e-12)
	wantVec(t, "end", last, r3.Vec{X: 3 * math.Cos(1.5), Z: 3 * math.Sin(1.5)}, 1e-12)
	// No chord may stand more than a tenth of a pixel inside the arc.
	half := math.Asin(r3.Norm(r3.Sub(points[1], points[0])) / 6)
	if sag := 300 * (1 - math.Cos(half)); sag > 0.1 {
		t.Errorf("chords stand %g pixels inside the arc", sag)
	}
	DimArc{Frame: f, Range: kinematics.Range{Lower: -0.5, Upper: 1.5}, Radius: 3, Text: "114.59°"}.draw(c)
	c.placeCallouts()
	d := c.drawing()
	if got := texts(d); len(got) != 1 || got[0].S != "114.59°" {
		t.Errorf("texts %v, want the figure", got)
	}
	if n := len(d.Items); n != 4 { // arc, two heads, figure
		t.Errorf("%d items, want 4", n)
	}
}

// stepDepths is a wall that hides everything right of x.
type stepDepths struct{ x int }

func (s stepDepths) Depth(x, _ int) float64 {
	if x >= s.x {
		return 0
	}
	return 1
}

func TestHiddenStretches(t *testing.T) {
	v := front(1000, 1000)
	tools := Tools{Measurer: plainMeasure{}, Depths: stepDepths{600}}
	line := Line{From: r3.Vec{X: -4}, To: r3.Vec{X: 4}}
	whole := 800.0
	for _, c := range []struct {
		depth       Depth
		see         bool
		clear, dim  float64
		seeThrough  bool
		description string
	}{
		{depth: OnTop, clear: whole, description: "on top"},
		{depth: Faded, clear: 500, dim: 300, description: "faded"},
		{depth: Cut, clear: 500, description: "cut"},
		{depth: Faded, clear: whole, seeThrough: true, description: "see-through"},
	} {
		line.Depth = c.depth
		s := Scene{Marks: []Mark{line}, Style: Style{SeeThrough: c.seeThrough}}
		d := Draw(s, v, tools)
		var clear, dim float64
		for _, item := range d.Items {
			a, _ := area(item.Tris)
			if item.Color.A == 255 {
				clear += a
			} else {
				dim += a
			}
		}
		if math.Abs(clear-c.clear) > 3 || math.Abs(dim-c.dim) > 3 {
			t.Errorf("%s: %g pixels clear and %g lighter, want %g and %g", c.description, clear, dim, c.clear, c.dim)
		}
	}
}

// Seen square to its axis, a cylinder's outlines stand one radius off it.
func TestRevolvedOutline(t *testing.T) {
	v := front(1000, 1000)
	axis := kinematics.Axis{Dir: r3.Vec{Z: 1}}
	d := drawAll(Scene{Marks: []Mark{Revolved{Axis: axis, From: -2, To: 2, Radius: 1.5, Radius2: 1.5}}}, v)
	left, right := math.Inf(1), math.Inf(-1)
	for _, item := range d.Items {
		for _, p := range item.Tris {
			left, right = math.Min(left, p.X), math.Max(right, p.X)
		}
	}
	if math.Abs(left-350) > 1 || math.Abs(right-650) > 1 {
		t.Errorf("drawn from %g to %g, want 350 to 650", left, right)
	}
}

func TestBorder(t *testing.T) {
	m := meshtest.Grid(4, 4, 4, 4)
	all := make([]int32, len(m.Triangles()))
	for i := range all {
		all[i] = int32(i)
	}
	if n := len(Border(m, all)); n != 16 {
		t.Errorf("the border of the whole sheet has %d edges, want 16", n)
	}
	if n := len(Border(m, all[:1])); n != 3 {
		t.Errorf("the border of a triangle has %d edges, want 3", n)
	}
}

func TestSceneBounds(t *testing.T) {
	flat := meshtest.Grid(2, 3, 2, 2)
	x := kinematics.Identity()
	x.T = r3.Vec{Z: 7}
	s := Scene{Parts: []PartView{{Mesh: flat}, {Mesh: flat, Motion: x}, {Mesh: flat, Look: Hidden}, {}}}
	b := s.Bounds()
	wantVec(t, "lower corner", b.Min, r3.Vec{}, 0)
	wantVec(t, "upper corner", b.Max, r3.Vec{X: 2, Y: 3, Z: 7}, 0)
	if (Scene{}).Bounds() != (r3.Box{}) {
		t.Error("an empty scene has bounds")
	}
}

func BenchmarkDraw(b *testing.B) {
	box := meshtest.Box(r3.Vec{X: 1, Y: -1, Z: -1}, r3.Vec{X: 3, Y: 1, Z: 1})
	s := Scene{Parts: []PartView{{Mesh: box}}, Marks: everyMark(hinge(), box)}
	v := Camera{Height: 10}.Straight(Axonometric).View(1440, 900, 1, s.Bounds())
	b.ReportAllocs()
	for b.Loop() {
		drawAll(s, v)
	}
}
