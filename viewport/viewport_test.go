package viewport

import (
	"errors"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/viewport/draft"
)

// The picture has the canvas's pixels, whatever its scale, and pens grow along.
func TestPictureMatchesThePixels(t *testing.T) {
	for _, scale := range []float32{1, 1.25, 2} {
		g := newStage(t, cubeScene(), scale)
		a := g.paint.last(t)
		if w, h := int(math.Ceil(float64(400*scale))), int(math.Ceil(float64(300*scale))); a.w != w || a.h != h {
			t.Errorf("scale %g: %d x %d pixels, want %d x %d", scale, a.w, a.h, w, h)
		}
		if math.Abs(a.o.Scale-float64(scale)) > 0.01 {
			t.Errorf("scale %g: pens at %g", scale, a.o.Scale)
		}
		x, y := g.pixel(fyne.NewPos(200, 150))
		if math.Abs(x-float64(a.w)/2) > 0.51 || math.Abs(y-float64(a.h)/2) > 0.51 {
			t.Errorf("scale %g: the middle is pixel %g, %g of %d x %d", scale, x, y, a.w, a.h)
		}
	}
}

// Nothing is drawn unless something has changed.
func TestIdleDrawsNothing(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	n := len(g.paint.all())
	for range 5 {
		g.show()
	}
	if m := len(g.paint.all()); m != n {
		t.Errorf("%d pictures drawn while idle", m-n)
	}
	g.SetScene(cubeScene())
	g.show()
	if m := len(g.paint.all()); m != n+1 {
		t.Errorf("%d pictures for one change, want 1", m-n)
	}
}

// While a slow picture is made, only the newest of many changes waits.
func TestOnlyTheNewestIsDrawn(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	before := len(g.paint.all())
	hold := make(chan struct{})
	g.paint.mu.Lock()
	g.paint.hold = hold
	g.paint.mu.Unlock()
	for i := range 50 {
		c := facing()
		c.Azimuth += float64(i) * 0.01
		g.SetCamera(c)
	}
	close(hold)
	g.rest()
	all := g.paint.all()
	if n := len(all) - before; n < 1 || n > 2 {
		t.Errorf("%d pictures for 50 changes, want the first and the last", n)
	}
	if got := all[len(all)-1].camera; got != g.Camera() {
		t.Errorf("the last picture is of camera %+v, want %+v", got, g.Camera())
	}
}

func TestFirstSceneIsFitted(t *testing.T) {
	g := newStage(t, draft.Scene{}, 1)
	g.Reset(cubeScene(), mesh.UpY)
	g.show()
	c := g.Camera()
	if c.Up != mesh.UpY {
		t.Errorf("up is %q, want Y", c.Up)
	}
	v := g.View()
	for _, p := range g.Scene().Corners() {
		if q, ok := v.Project(p); !ok || q.X < 0 || q.Y < 0 || q.X > 400 || q.Y > 300 {
			t.Errorf("%v appears at %v", p, q)
		}
	}
	// A later scene keeps the camera.
	g.SetScene(cubeScene())
	if g.Camera() != c {
		t.Error("a change of scene moved the camera")
	}
}

func TestDragOrbits(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	moved := 0
	g.OnCamera = func(draft.Camera) { moved++ }
	picked := false
	g.OnPick = func(Hit, fyne.KeyModifier) { picked = true }
	g.rest()
	before := len(g.paint.all())
	g.drags(200, 150, -40, 20, 0)
	c := g.Camera()
	if c.Azimuth <= facing().Azimuth || c.Elevation <= 0 {
		t.Errorf("dragged to the left and down: azimuth %g, elevation %g", c.Azimuth, c.Elevation)
	}
	if moved == 0 || picked {
		t.Errorf("%d movements told, picked %v", moved, picked)
	}
	all := g.paint.all()[before:]
	if last := all[len(all)-1]; last.o.Samples != 4 || last.camera != c {
		t.Errorf("the drag ends with %+v of %+v", last.o, last.camera)
	}
}

// While something moves pictures are rough; a crisp one follows.
func TestRoughThenCrisp(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.effort.level = 2
	g.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: 10}})
	g.frames.wait()
	if a := g.paint.last(t); a.o.Samples != 1 || a.w != 200 || a.o.Scale != 0.5 {
		t.Errorf("while moving: %d samples, %d pixels wide, pens at %g", a.o.Samples, a.w, a.o.Scale)
	}
	g.settle()
	if a := g.paint.last(t); a.o.Samples != 4 || a.w != 400 || a.o.Scale != 1 {
		t.Errorf("at rest: %d samples, %d pixels wide, pens at %g", a.o.Samples, a.w, a.o.Scale)
	}
	g.MoveScene(cubeScene())
	g.frames.wait()
	if a := g.paint.last(t); a.o.Samples != 1 {
		t.Errorf("a scene in motion: %d samples", a.o.Samples)
	}
	g.settle()
	var e effort
	for range 5 {
		e.learn(10 * slowFrame)
	}
	if e.level != 2 {
		t.Errorf("slow pictures left the effort at %d", e.level)
	}
	for range 5 {
		e.learn(0)
	}
	if e.level != 0 {
		t.Errorf("fast pictures left the effort at %d", e.level)
	}
}

func TestPanFollowsThePointer(t *testing.T) {
	for name, drag := range map[string]func(g *stage){
		"right button": func(g *stage) {
			b := desktop.MouseButtonSecondary
			g.MouseDown(mouse(100, 100, b, 0))
			g.MouseMoved(mouse(120, 105, b, 0))
			g.MouseMoved(mouse(150, 120, b, 0))
			g.MouseUp(mouse(150, 120, b, 0))
		},
		"shift": func(g *stage) { g.drags(100, 100, 50, 20, fyne.KeyModifierShift) },
	} {
		g := newStage(t, cubeScene(), 2)
		g.SetCamera(facing())
		context := false
		g.OnContext = func(Hit, fyne.Position) { context = true }
		before := g.View().Unproject(200, 200, r3.Vec{})
		drag(g)
		g.rest()
		q, _ := g.View().Project(before)
		if math.Hypot(q.X-300, q.Y-240) > 1e-6 {
			t.Errorf("%s: what was at 100, 100 is at %g, %g", name, q.X/2, q.Y/2)
		}
		if context || g.drag.gesture != noGesture {
			t.Errorf("%s: context %v, gesture %d left", name, context, g.drag.gesture)
		}
	}
}

// A release outside the widget is not reported; the next movement notices.
func TestReleaseOutside(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.MouseDown(mouse(100, 100, desktop.MouseButtonSecondary, 0))
	g.MouseMoved(mouse(150, 100, desktop.MouseButtonSecondary, 0))
	c := g.Camera()
	g.MouseMoved(mouse(10, 10, 0, 0))
	if g.drag.gesture != noGesture || g.Camera() != c {
		t.Errorf("gesture %d goes on after the release", g.drag.gesture)
	}
}

func TestWheelZoomsToThePointer(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	under := g.View().Unproject(300, 80, r3.Vec{})
	e := &fyne.ScrollEvent{Scrolled: fyne.Delta{DY: 30}}
	e.Position = fyne.NewPos(300, 80)
	g.Scrolled(e)
	if g.Camera().Height >= 4 {
		t.Errorf("scrolling up left the height at %g", g.Camera().Height)
	}
	if q, _ := g.View().Project(under); math.Hypot(q.X-300, q.Y-80) > 1e-6 {
		t.Errorf("what was under the pointer is at %g, %g", q.X, q.Y)
	}
	for range 500 {
		g.Scrolled(e)
	}
	near := g.Camera()
	e.Scrolled.DY = -30
	for range 1000 {
		g.Scrolled(e)
	}
	if !near.Valid() || !g.Camera().Valid() || near.Height < 1e-6 || g.Camera().Height > 1e4 {
		t.Errorf("zoomed to %g and %g", near.Height, g.Camera().Height)
	}
	g.rest()
}

func TestClicks(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	g.rest()
	var hit Hit
	var mod fyne.KeyModifier
	var at fyne.Position
	picks, contexts := 0, 0
	g.OnPick = func(h Hit, m fyne.KeyModifier) { hit, mod, picks = h, m, picks+1 }
	g.OnContext = func(h Hit, p fyne.Position) { hit, at, contexts = h, p, contexts+1 }
	g.click(200, 150, desktop.MouseButtonPrimary, fyne.KeyModifierControl)
	if picks != 1 || hit.Part != 0 || mod != fyne.KeyModifierControl {
		t.Errorf("click: %d picks, part %d, modifier %d", picks, hit.Part, mod)
	}
	if math.Abs(hit.Point.Y+1) > 1e-9 || hit.Normal != (r3.Vec{Y: -1}) {
		t.Errorf("hit at %v, normal %v", hit.Point, hit.Normal)
	}
	g.click(5, 5, desktop.MouseButtonPrimary, 0)
	if picks != 2 || hit.OK() {
		t.Errorf("click on paper: %d picks, hit %+v", picks, hit)
	}
	g.click(330, 150, desktop.MouseButtonSecondary, 0)
	if contexts != 1 || hit.Part != 1 || at != fyne.NewPos(330, 150) || picks != 2 {
		t.Errorf("right click: %d contexts, part %d at %v", contexts, hit.Part, at)
	}
}

func TestHoverTellsOfChanges(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	var told []int
	g.OnHover = func(h Hit) { told = append(told, h.Part) }
	g.hoverOn(200, 150)
	for i := range 5 {
		g.MouseMoved(mouse(200+float32(i), 150, 0, 0))
		g.rest()
	}
	if g.Cursor() != desktop.PointerCursor {
		t.Error("no pointing hand over a part")
	}
	g.MouseMoved(mouse(5, 5, 0, 0))
	g.rest()
	g.MouseMoved(mouse(340, 150, 0, 0))
	g.rest()
	g.MouseOut()
	want := []int{0, -1, 1, -1}
	if len(told) != len(want) {
		t.Fatalf("told of parts %v, want %v", told, want)
	}
	for i := range want {
		if told[i] != want[i] {
			t.Fatalf("told of parts %v, want %v", told, want)
		}
	}
	// A late answer does not bring the hover back.
	g.MouseMoved(mouse(200, 150, 0, 0))
	g.within = false
	g.rest()
	if g.Hover().OK() {
		t.Error("hovering although the pointer has left")
	}
	g.SetPickMode(PickEdge)
	if g.Cursor() != desktop.CrosshairCursor {
		t.Error("no cross hair while picking edges on paper")
	}
}

func TestGrab(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	var rays int
	var last r3.Vec
	done := false
	g.OnGrab = func(h Hit) func(o, d r3.Vec, end bool) {
		if h.Part != 0 {
			return nil
		}
		return func(o, d r3.Vec, end bool) { rays, last, done = rays+1, o, end }
	}
	g.hoverOn(200, 150)
	g.drags(200, 150, 75, 0, 0)
	if rays < 2 || !done || math.Abs(last.X-1) > 1e-9 {
		t.Errorf("%d rays, last from %v, done %v", rays, last, done)
	}
	if g.Camera() != facing() {
		t.Error("the camera moved with the grabbed part")
	}
	g.hoverOn(340, 150)
	g.drags(340, 150, 40, 0, 0)
	if g.Camera() == facing() {
		t.Error("a drag that nobody grabs does not orbit")
	}
}

func TestKeys(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.SetCamera(facing())
	key := func(n fyne.KeyName) { g.TypedKey(&fyne.KeyEvent{Name: n}); g.rest() }
	key(fyne.KeyRight)
	if d := g.Camera().Azimuth - facing().Azimuth; math.Abs(d-keyOrbit) > 1e-12 {
		t.Errorf("right arrow turned by %g, want %g", d, keyOrbit)
	}
	g.SetCamera(facing())
	g.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	key(fyne.KeyUp)
	g.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	if c := g.Camera(); c.Azimuth != facing().Azimuth || c.Target.Z <= 0 {
		t.Errorf("shift and up: camera %+v", c)
	}
	g.TypedRune('+')
	if g.Camera().Height >= 4 {
		t.Error("+ does not zoom in")
	}
	g.TypedRune('5')
	g.rest()
	if _, _, back := g.Camera().Basis(); r3.Norm(r3.Sub(back, r3.Vec{Z: 1})) > 1e-12 {
		t.Errorf("5 looks from %v, want the top", back)
	}
	g.TypedRune('p')
	if g.Camera().FOV <= 0 {
		t.Error("p does not change to perspective")
	}
	var other fyne.KeyName
	g.OnKey = func(e *fyne.KeyEvent) { other = e.Name }
	key(fyne.KeyEscape)
	if other != fyne.KeyEscape {
		t.Errorf("escape was passed on as %q", other)
	}
}

func TestFocusRing(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	g.MouseDown(mouse(10, 10, desktop.MouseButtonPrimary, 0))
	if g.window.Canvas().Focused() != g.Viewport || g.ring.Visible() {
		t.Error("a press does not give the focus quietly")
	}
	g.TypedKey(&fyne.KeyEvent{Name: fyne.KeyLeft})
	if !g.ring.Visible() || g.ring.StrokeColor == color.Transparent {
		t.Error("no ring although keys are used")
	}
	g.window.Canvas().Unfocus()
	if g.ring.Visible() {
		t.Error("the ring stays without the focus")
	}
	g.window.Canvas().Focus(g.Viewport)
	if !g.ring.Visible() {
		t.Error("no ring for a focus that no click gave")
	}
	g.rest()
}

func TestProblems(t *testing.T) {
	g := newStage(t, cubeScene(), 1)
	var got error
	g.OnProblem = func(err error) { got = err }
	g.paint.mu.Lock()
	g.paint.err = errors.New("no card")
	g.paint.mu.Unlock()
	g.SetScene(cubeScene())
	g.rest()
	if got == nil || got.Error() != "no card" {
		t.Errorf("told of %v", got)
	}
	g.SetProblem("OpenGL 3.3 is not available: no card")
	if !g.problem.Visible() {
		t.Error("the sentence does not show")
	}
	g.SetProblem("")
	if g.problem.Visible() {
		t.Error("the sentence stays")
	}
	before := g.Camera()
	g.SetCamera(draft.Camera{})
	g.Go(draft.Camera{Height: math.NaN()})
	if g.Camera() != before {
		t.Error("an impossible camera was taken")
	}
}
