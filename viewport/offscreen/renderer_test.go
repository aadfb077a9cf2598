package offscreen

import (
	"context"
	"errors"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// onMain runs a function on the main thread, which TestMain serves.
var onMain func(func())

func init() { runtime.LockOSThread() }

func TestMain(m *testing.M) {
	code := 0
	RunMain(func(f func(func())) {
		onMain = f
		code = m.Run()
	})
	os.Exit(code)
}

// open returns a renderer, or skips the test where there is no OpenGL.
func open(t testing.TB) *Renderer {
	t.Helper()
	r, err := New(onMain)
	var none *Unavailable
	if errors.As(err, &none) {
		t.Skip("needs a display with OpenGL: ", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.Close)
	return r
}

// save writes a picture for people to look at where PINTLE_SHOTS names a folder.
func save(t testing.TB, img *image.RGBA, name string) {
	t.Helper()
	dir := os.Getenv("PINTLE_SHOTS")
	if dir == "" {
		return
	}
	f, err := os.Create(filepath.Join(dir, name+".png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

// elbow is a small hinge: a lower link with a hub, an arm with an eye round
// it and a pin, turned away from the axes.
func elbow() (draft.Scene, kinematics.Frame) {
	turn := func(p r3.Vec) r3.Vec { return r3.Rotate(p, 0.5, r3.Vec{X: 0.3, Y: 1, Z: 0.2}) }
	frame := kinematics.Frame{
		Origin: turn(r3.Vec{}), Hinge: turn(r3.Vec{Z: 1}), Reach: turn(r3.Vec{X: 1}),
	}
	hub := meshtest.Cylinder(9, -8, -3.2, 64, 1, true, turn)
	eye := meshtest.Cylinder(7, -3, 3, 64, 1, true, turn)
	pin := meshtest.Cylinder(2.6, -9, 6, 40, 1, true, turn)
	lower := meshtest.Box(r3.Vec{X: -34, Y: -5, Z: -8}, r3.Vec{X: -4, Y: 5, Z: -3.2}, func(p r3.Vec) r3.Vec {
		return turn(r3.Rotate(p, 0.9, r3.Vec{Z: 1}))
	})
	arm := meshtest.Box(r3.Vec{X: 4, Y: -3, Z: -2.5}, r3.Vec{X: 30, Y: 3, Z: 2.5}, turn)
	limits := kinematics.Range{Lower: -0.55, Upper: 2.07}
	return draft.Scene{
		Parts: []draft.PartView{
			{Mesh: hub}, {Mesh: lower}, {Mesh: eye, Tint: 1}, {Mesh: arm, Tint: 1}, {Mesh: pin, Tint: 2},
		},
		Marks: []draft.Mark{
			draft.Sector{Frame: frame, Range: limits, Radius: 32, Ink: draft.InkRange},
			draft.Extreme{Mesh: arm, Motion: swing(frame, limits.Lower)},
			draft.Extreme{Mesh: arm, Motion: swing(frame, limits.Upper)},
			draft.DimArc{Frame: frame, Range: limits, Radius: 24, Text: "149.91°"},
			draft.FrameMark{Frame: frame, Back: 30, Hinge: 26, Reach: 38, Side: 22, Letters: [3]string{"Z", "Y", "X"}, Depth: draft.Faded},
			draft.JointSign{Kind: kinematics.Revolute, Frame: frame},
			draft.Balloon{At: turn(r3.Vec{X: -3, Y: 4, Z: 3}), Text: "3", Ink: draft.InkHinge, Filled: true},
			draft.Balloon{At: turn(r3.Vec{X: 28, Z: 2.5}), Text: "4"},
			draft.Balloon{At: turn(r3.Rotate(r3.Vec{X: -30, Z: -3}, 0.9, r3.Vec{Z: 1})), Text: "2"},
			draft.Label{At: turn(r3.Vec{X: 2, Y: -5, Z: 3}), Text: "first contact +118.64°", Ink: draft.InkBad, Leader: true},
			draft.Point{At: turn(r3.Vec{X: 2, Y: -5, Z: 3}), Ink: draft.InkBad},
			draft.TitleBlock{Title: "tern-arm", Note: "41,208 triangles", Rows: [][]string{
				{"unit mm", "up Z"}, {"view: about joint 3", "version 2 of 2"},
			}},
			draft.Compass{},
			draft.ScaleBar{Unit: "mm"},
		},
	}, frame
}

// swing returns the motion by an angle about the frame's hinge.
func swing(f kinematics.Frame, angle float64) kinematics.Transform {
	turn := func(d r3.Vec) r3.Vec { return r3.Rotate(d, angle, f.Hinge) }
	x := kinematics.Transform{X: turn(r3.Vec{X: 1}), Y: turn(r3.Vec{Y: 1}), Z: turn(r3.Vec{Z: 1})}
	x.T = r3.Sub(f.Origin, turn(f.Origin))
	return x
}

// workshop is the elbow while something is being measured: a ghost of the arm
// at one end, an envelope, a fitted cylinder, picks and a dimension.
func workshop(s draft.Scene, f kinematics.Frame) draft.Scene {
	hub, eye, arm := s.Parts[0].Mesh, s.Parts[2].Mesh, s.Parts[3].Mesh
	s.Parts = append(s.Parts[:len(s.Parts):len(s.Parts)],
		draft.PartView{Mesh: arm, Tint: 1, Motion: swing(f, 1.1), Look: draft.Ghost, NoPick: true},
		draft.PartView{Mesh: meshtest.Cylinder(16, 6, 12, 60, 1, true, func(p r3.Vec) r3.Vec {
			return r3.Add(f.Origin, r3.Add(r3.Scale(p.X, f.Reach), r3.Add(r3.Scale(p.Y, f.Side()), r3.Scale(p.Z, f.Hinge))))
		}), Look: draft.Wash, NoPick: true},
	)
	s.Parts[1].Emphasis = draft.Selected
	patch := hub.Topology().PatchFrom(100, draft.DefaultFeature)
	corner := arm.Vertices()[5]
	s.Marks = []draft.Mark{
		draft.Patch{Mesh: hub, Triangles: patch, Ink: draft.InkHover},
		draft.EdgeSet{Mesh: hub, Edges: draft.Border(hub, patch), Ink: draft.InkHover},
		draft.Revolved{Axis: f.Axis(), From: -3, To: 3, Radius: 7, Radius2: 7, Ink: draft.InkSelected},
		draft.Vertices{At: eye.Vertices()[:20], Ink: draft.InkSelected},
		draft.Dimension{A: corner, B: arm.Vertices()[6], Offset: r3.Scale(4, f.Hinge), Text: "6.00"},
		draft.Label{At: corner, Text: "\u00d8 14.003 \u00b1 0.002", Bold: true, Leader: true, Ink: draft.InkSelected},
		draft.Ball{Centre: r3.Add(f.Origin, r3.Scale(-34, f.Reach)), Radius: 6, Ink: draft.InkReach},
		draft.Plane{Point: r3.Add(f.Origin, r3.Scale(-24, f.Side())), Normal: f.Side(), Half: 6, Ink: draft.InkReach},
		draft.Tube{Axis: kinematics.Axis{Point: r3.Add(f.Origin, r3.Scale(20, f.Side())), Dir: f.Hinge}, Radius: 7, Radius2: 2, Ink: draft.InkReach},
	}
	return s
}

func TestPicturesToLookAt(t *testing.T) {
	r := open(t)
	s, frame := elbow()
	about := draft.NewCamera(s.Bounds(), "", 1440.0/900).From(r3.Add(frame.Hinge, r3.Vec{X: 0.25, Y: -0.3, Z: 0.2}))
	about = about.Fit(s.Corners(), 1440.0/900, 0.2)
	free := draft.NewCamera(s.Bounds(), "", 1440.0/900)
	wide := free
	wide.FOV = 35 * math.Pi / 180
	wire, through := s, s
	wire.Style.Wire = true
	through.Style.SeeThrough = true
	extras := workshop(s, frame)
	night := s
	night.Palette = draft.Night()
	for _, c := range []struct {
		name  string
		scene draft.Scene
		cam   draft.Camera
	}{
		{"about", s, about},
		{"free", s, free},
		{"perspective", s, wide},
		{"wire", wire, free},
		{"through", through, free},
		{"night", night, about},
		{"extras", extras, free},
	} {
		img, err := r.Render(context.Background(), c.scene, c.cam, 1440, 900, Options{})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		save(t, img, c.name)
	}
	img, err := r.Render(context.Background(), s, about, 2880, 1800, Options{Scale: 2})
	if err != nil {
		t.Fatal(err)
	}
	save(t, img, "double")
}
