package offscreen

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

func render(t testing.TB, r *Renderer, s draft.Scene, c draft.Camera, w, h int, o Options) *image.RGBA {
	t.Helper()
	img, err := r.Render(context.Background(), s, c, w, h, o)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func at(img *image.RGBA, x, y int) color.NRGBA {
	c := img.RGBAAt(x, y)
	return color.NRGBA(c)
}

// cube is a cube of side 2 about the origin, seen from the front, 100 pixels
// to the unit in a picture 400 x 400.
func cube() (draft.Scene, draft.Camera) {
	one := r3.Vec{X: 1, Y: 1, Z: 1}
	s := draft.Scene{Parts: []draft.PartView{{Mesh: meshtest.Box(r3.Scale(-1, one), one)}}}
	return s, draft.Camera{Height: 4}.Straight(draft.Front)
}

func TestPictureOfACube(t *testing.T) {
	r := open(t)
	s, cam := cube()
	for _, samples := range []int{1, 4} {
		img := render(t, r, s, cam, 400, 400, Options{Samples: samples})
		p := draft.Paper()
		if got := at(img, 20, 20); got != p.Color(draft.InkPaper) {
			t.Errorf("%d samples: paper is %v, want %v", samples, got, p.Color(draft.InkPaper))
		}
		face, ink := at(img, 200, 200), p.Color(draft.InkMain)
		tint := p.Tint(0)
		if math.Abs(float64(face.R)-float64(tint.R)) > 40 || face == p.Color(draft.InkPaper) {
			t.Errorf("%d samples: face is %v, tint %v", samples, face, tint)
		}
		// The outline stands at 100 pixels from the middle, 1.9 pixels wide.
		for _, q := range [][2]int{{100, 200}, {200, 100}, {299, 200}, {200, 299}} {
			dark := 0.0
			for d := -3; d <= 3; d++ {
				c := at(img, q[0]+d*boolInt(q[1] == 200), q[1]+d*boolInt(q[0] == 200))
				dark = math.Max(dark, 255-float64(c.R))
			}
			if dark < 0.75*(255-float64(ink.R)) {
				t.Errorf("%d samples: no ink at the outline near %v", samples, q)
			}
		}
		for i := 3; i < len(img.Pix); i += 4 {
			if img.Pix[i] != 255 {
				t.Fatalf("%d samples: pixel %d is not opaque", samples, i/4)
			}
		}
	}
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// What the depth buffer says, a ray through the mesh's hierarchy says too:
// camera, matrices and picking agree, in both projections.
func TestDepthAgreesWithRays(t *testing.T) {
	r := open(t)
	turn := func(p r3.Vec) r3.Vec { return r3.Rotate(p, 0.7, r3.Vec{X: 1, Y: 2, Z: 0.5}) }
	x := kinematics.Identity()
	x.T = r3.Vec{X: 3, Y: -1, Z: 2}
	m := meshtest.Torus(3, 1.2, 48, 24, turn)
	s := draft.Scene{
		Parts: []draft.PartView{{Mesh: m, Motion: x}},
		Style: draft.Style{NoEdges: true},
	}
	for _, fov := range []float64{0, 0.7} {
		cam := draft.NewCamera(s.Bounds(), "", 1.5)
		cam.FOV = fov
		render(t, r, s, cam, 300, 200, Options{Samples: 1})
		v := cam.View(300, 200, 1, s.Bounds())
		near, far, _ := v.Planes()
		hits, wrong := 0, 0
		for y := 0; y < 200; y += 3 {
			for px := 0; px < 300; px += 3 {
				o, d := v.Ray(float64(px)+0.5, float64(y)+0.5)
				tri, dist, ok := m.BVH().Ray(r3.Sub(o, x.T), d)
				z := float64(r.last.depth[y*300+px])
				if ok != (z < 1) {
					wrong++ // a pixel at the outline may fall either way
					continue
				}
				if !ok {
					continue
				}
				hits++
				q, _ := v.Project(r3.Add(o, r3.Scale(dist, d)))
				// For the ink's sake faces are backed off by what they fall away over
				// one pixel; in perspective depth steps are up to far/near as large.
				n := r3.Unit(m.AreaNormal(tri))
				cos := math.Abs(r3.Dot(n, d))
				slack := 1e-4 + 1.5*v.UnitsPerPixel(v.Camera.Target)*math.Sqrt(1-cos*cos)/cos/(far-near)
				if fov > 0 {
					slack *= far / near
				}
				if z < q.Depth-1e-4 || z > q.Depth+slack {
					t.Errorf("fov %g: pixel %d, %d at depth %.5f, ray says %.5f to %.5f", fov, px, y, z, q.Depth, q.Depth+slack)
				}
			}
		}
		if hits < 500 || wrong > hits/100 {
			t.Errorf("fov %g: %d pixels agree on a hit, %d do not", fov, hits, wrong)
		}
	}
}

// A change of marks alone renders nothing anew.
func TestMarksAloneAreComposed(t *testing.T) {
	r := open(t)
	s, cam := cube()
	plain := render(t, r, s, cam, 200, 200, Options{})
	s.Marks = []draft.Mark{draft.Point{At: r3.Vec{}, Ink: draft.InkBad}}
	marked := render(t, r, s, cam, 200, 200, Options{})
	if st := r.Stats(); st.Shaded != 1 || st.Composed != 2 {
		t.Errorf("%d pictures shaded and %d composed, want 1 and 2", st.Shaded, st.Composed)
	}
	if at(marked, 100, 100) != draft.Paper().Color(draft.InkBad) {
		t.Errorf("the mark's pixel is %v", at(marked, 100, 100))
	}
	if at(plain, 100, 100) == at(marked, 100, 100) {
		t.Error("the first picture was written to")
	}
	s.Marks = nil
	if again := render(t, r, s, cam, 200, 200, Options{}); !bytes.Equal(again.Pix, plain.Pix) {
		t.Error("taking the mark away left traces")
	}
	s.Parts = []draft.PartView{{Mesh: s.Parts[0].Mesh, Emphasis: draft.Selected}}
	render(t, r, s, cam, 200, 200, Options{})
	if st := r.Stats(); st.Shaded != 2 {
		t.Errorf("%d pictures shaded after a change of emphasis, want 2", st.Shaded)
	}
}

func TestLooksDiffer(t *testing.T) {
	r := open(t)
	s, cam := cube()
	cam = cam.Straight(draft.Axonometric)
	m := s.Parts[0].Mesh
	seen := make(map[string]string)
	for name, c := range map[string]draft.Scene{
		"solid":       {Parts: []draft.PartView{{Mesh: m}}},
		"tinted":      {Parts: []draft.PartView{{Mesh: m, Tint: 1}}},
		"ghost":       {Parts: []draft.PartView{{Mesh: m, Look: draft.Ghost}}},
		"wash":        {Parts: []draft.PartView{{Mesh: m, Look: draft.Wash}}},
		"hidden":      {Parts: []draft.PartView{{Mesh: m, Look: draft.Hidden}}},
		"hovered":     {Parts: []draft.PartView{{Mesh: m, Emphasis: draft.Hovered}}},
		"selected":    {Parts: []draft.PartView{{Mesh: m, Emphasis: draft.Selected}}},
		"no edges":    {Parts: []draft.PartView{{Mesh: m}}, Style: draft.Style{NoEdges: true}},
		"see-through": {Parts: []draft.PartView{{Mesh: m}}, Style: draft.Style{SeeThrough: true}},
		"wire":        {Parts: []draft.PartView{{Mesh: meshtest.Triangulated(m)}}, Style: draft.Style{Wire: true}},
		"night":       {Parts: []draft.PartView{{Mesh: m}}, Palette: draft.Night()},
	} {
		pix := string(render(t, r, c, cam, 160, 160, Options{}).Pix)
		if other, ok := seen[pix]; ok {
			t.Errorf("%s looks like %s", name, other)
		}
		seen[pix] = name
	}
}

// What was left out of one picture appears in the next.
func TestEdgesComeBack(t *testing.T) {
	s, cam := cube()
	want := render(t, open(t), s, cam, 160, 160, Options{})
	r := open(t)
	s.Style.NoEdges = true
	render(t, r, s, cam, 160, 160, Options{})
	s.Style.NoEdges = false
	if got := render(t, r, s, cam, 160, 160, Options{}); !bytes.Equal(got.Pix, want.Pix) {
		t.Error("edges that were off at first look different when on")
	}
}

// A translucent part lets what is behind it be read for picking by depth: it
// leaves the depth of the solid part behind it alone.
func TestWashLeavesDepthAlone(t *testing.T) {
	r := open(t)
	s, cam := cube()
	before := r3.Vec{X: 0.5, Y: -2, Z: 0.5}
	s.Parts = append(s.Parts, draft.PartView{Mesh: meshtest.Box(r3.Vec{X: -0.5, Y: -3, Z: -0.5}, before), Look: draft.Wash})
	render(t, r, s, cam, 100, 100, Options{Samples: 1})
	with := r.last.depth[50*100+50]
	v := cam.View(100, 100, 1, s.Bounds())
	q, _ := v.Project(r3.Vec{Y: -1})
	if math.Abs(float64(with)-q.Depth) > 1e-3 {
		t.Errorf("depth behind the wash is %g, want the cube's %g", with, q.Depth)
	}
}

// The same scene ten kilometres off gives the same picture.
func TestPictureFarFromTheOrigin(t *testing.T) {
	r := open(t)
	picture := func(off r3.Vec) *image.RGBA {
		m := meshtest.Cylinder(2, -1, 1, 40, 1, true, func(p r3.Vec) r3.Vec { return r3.Add(p, off) })
		s := draft.Scene{Parts: []draft.PartView{{Mesh: m}}}
		cam := draft.Camera{Height: 6, Target: off}.Straight(draft.Axonometric)
		return render(t, r, s, cam, 200, 200, Options{})
	}
	// A power of two keeps the coordinates exact.
	near, far := picture(r3.Vec{}), picture(r3.Vec{X: 1 << 23, Y: -(1 << 24), Z: 1 << 22})
	differ := 0
	for i := range near.Pix {
		if d := int(near.Pix[i]) - int(far.Pix[i]); d > 8 || d < -8 {
			differ++
		}
	}
	if differ > len(near.Pix)/500 {
		t.Errorf("%d of %d values differ", differ, len(near.Pix))
	}
}

func TestPicturesRepeat(t *testing.T) {
	r := open(t)
	s, _ := elbow()
	cam := draft.NewCamera(s.Bounds(), "", 1.5)
	first := render(t, r, s, cam, 300, 200, Options{})
	r.Trim()
	if again := render(t, r, s, cam, 300, 200, Options{}); !bytes.Equal(first.Pix, again.Pix) {
		t.Error("the same picture came out differently")
	}
}

// Everything on the card is given back.
func TestNothingLeaks(t *testing.T) {
	r := open(t)
	s, _ := elbow()
	cam := draft.NewCamera(s.Bounds(), "", 1)
	s.Style.Wire = true
	render(t, r, s, cam, 100, 100, Options{})
	first := r.Stats()
	if first.Meshes != len(s.Parts) || first.Buffers == 0 {
		t.Errorf("after one picture: %+v", first)
	}
	for i := range 20 {
		render(t, r, s, cam.Orbit(cam.Target, float64(i)*0.1, 0.02), 100+i, 100, Options{Samples: 1 + i%4})
	}
	if st := r.Stats(); st.Vaos != first.Vaos || st.Buffers != first.Buffers {
		t.Errorf("after 20 more: %+v, at first %+v", st, first)
	}
	r.Trim()
	if st := r.Stats(); st.Vaos != 0 || st.Buffers != 0 || st.Meshes != 0 || st.Bytes != 0 {
		t.Errorf("after trimming: %+v", st)
	}
}

func TestContextLoss(t *testing.T) {
	r := open(t)
	s, cam := cube()
	want := render(t, r, s, cam, 100, 100, Options{})
	r.last = shaded{}
	r.loseNext = true
	if got := render(t, r, s, cam, 100, 100, Options{}); !bytes.Equal(got.Pix, want.Pix) {
		t.Error("the picture after a loss differs")
	}
	if st := r.Stats(); st.Meshes != 1 {
		t.Errorf("the new context holds %+v", st)
	}
}

func TestRenderBadInput(t *testing.T) {
	r := open(t)
	s, cam := cube()
	ctx := context.Background()
	done, cancel := context.WithCancel(ctx)
	cancel()
	nan := kinematics.Identity()
	nan.T.X = math.NaN()
	broken := draft.Scene{Parts: []draft.PartView{{Mesh: s.Parts[0].Mesh, Motion: nan}}}
	for name, c := range map[string]struct {
		ctx  context.Context
		cam  draft.Camera
		w, h int
		want string
	}{
		"no size":    {ctx, cam, 0, 10, "is no size"},
		"negative":   {ctx, cam, 10, -1, "is no size"},
		"huge":       {ctx, cam, 1 << 20, 1 << 20, "too large"},
		"overflow":   {ctx, cam, math.MaxInt, 2, "too large"},
		"very long":  {ctx, cam, 1 << 22, 2, "too large for this driver"},
		"no camera":  {ctx, draft.Camera{}, 10, 10, "camera"},
		"NaN camera": {ctx, draft.Camera{Height: math.NaN()}, 10, 10, "camera"},
		"cancelled":  {done, cam, 10, 10, "canceled"},
	} {
		if _, err := r.Render(c.ctx, s, c.cam, c.w, c.h, Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", name, err, c.want)
		}
	}
	render(t, r, broken, cam, 20, 20, Options{Samples: 999, Scale: math.NaN()})
	render(t, r, draft.Scene{}, cam, 20, 20, Options{Samples: -1})
	render(t, r, s, cam, 1, 1, Options{})
	r.Close()
	r.Close()
	if _, err := r.Render(ctx, s, cam, 10, 10, Options{}); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("a closed renderer says %v", err)
	}
	if st := r.Stats(); st.Buffers != 0 {
		t.Errorf("a closed renderer holds %+v", st)
	}
}

// Closing from the main thread must not wait for the main thread.
func TestCloseOnMain(t *testing.T) {
	r := open(t)
	s, cam := cube()
	render(t, r, s, cam, 50, 50, Options{})
	onMain(r.Close)
	if _, err := r.Render(context.Background(), s, cam, 10, 10, Options{}); err == nil {
		t.Error("a closed renderer draws")
	}
}

// Without a display New says so in one sentence. GLFW keeps its state for the
// whole process, so this runs in another one.
func TestWithoutDisplay(t *testing.T) {
	if os.Getenv("PINTLE_NO_DISPLAY") != "" {
		_, err := New(onMain)
		var none *Unavailable
		if !errors.As(err, &none) {
			t.Fatalf("error %v, want an *Unavailable", err)
		}
		if s := err.Error(); !strings.HasPrefix(s, "OpenGL 3.3 is not available: ") || strings.ContainsAny(s, "\n") || strings.HasSuffix(s, ".") {
			t.Fatalf("not a sentence to show: %q", s)
		}
		return
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestWithoutDisplay$", "-test.v")
	for _, e := range os.Environ() {
		if !strings.HasPrefix(e, "DISPLAY=") && !strings.HasPrefix(e, "WAYLAND_DISPLAY=") {
			cmd.Env = append(cmd.Env, e)
		}
	}
	cmd.Env = append(cmd.Env, "PINTLE_NO_DISPLAY=1")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, out)
	}
}
