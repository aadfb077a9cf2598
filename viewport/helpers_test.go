package viewport

import (
	"context"
	"image"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/viewport/draft"
	"pintle/viewport/offscreen"
)

// asked is what a painter was asked for.
type asked struct {
	scene  draft.Scene
	camera draft.Camera
	w, h   int
	o      offscreen.Options
}

// paintBox notes what it is asked for and hands out blank pictures. If hold is
// set, every picture waits for a value from it.
type paintBox struct {
	mu   sync.Mutex
	got  []asked
	err  error
	hold chan struct{}
}

func (p *paintBox) Render(_ context.Context, s draft.Scene, c draft.Camera, w, h int, o offscreen.Options) (*image.RGBA, error) {
	p.mu.Lock()
	p.got = append(p.got, asked{s, c, w, h, o})
	hold, err := p.hold, p.err
	p.mu.Unlock()
	if hold != nil {
		<-hold
	}
	return image.NewRGBA(image.Rect(0, 0, w, h)), err
}

func (p *paintBox) all() []asked {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]asked(nil), p.got...)
}

func (p *paintBox) last(t *testing.T) asked {
	t.Helper()
	all := p.all()
	if len(all) == 0 {
		t.Fatal("no picture was asked for")
	}
	return all[len(all)-1]
}

// stage is a viewport in a test window, whose UI thread is the test itself.
type stage struct {
	*Viewport
	t      *testing.T
	paint  *paintBox
	window fyne.Window
	mu     sync.Mutex
	queue  []func()
	timers []*func()
}

// newStage shows a scene in a viewport of 400 x 300 units at a canvas scale.
func newStage(t *testing.T, s draft.Scene, scale float32) *stage {
	t.Helper()
	test.NewTempApp(t)
	g := &stage{Viewport: New(), t: t, paint: &paintBox{}}
	g.do = func(f func()) {
		g.mu.Lock()
		defer g.mu.Unlock()
		g.queue = append(g.queue, f)
	}
	g.later = func(_ time.Duration, f func()) func() {
		g.timers = append(g.timers, &f)
		return func() { f = nil }
	}
	g.window = test.NewWindow(g.Viewport)
	t.Cleanup(g.window.Close)
	g.window.SetPadded(false)
	g.window.Canvas().(test.WindowlessCanvas).SetScale(scale)
	g.window.Resize(fyne.NewSize(400, 300))
	g.SetScene(s)
	g.SetPainter(g.paint)
	g.show()
	return g
}

// show paints the window, as the app would, and lets everything come to rest.
func (g *stage) show() {
	g.window.Canvas().Capture()
	g.rest()
}

// rest waits for the goroutines and runs what they have sent to the UI thread.
func (g *stage) rest() {
	for {
		g.ready.wait()
		g.picks.wait()
		g.frames.wait()
		g.mu.Lock()
		queue := g.queue
		g.queue = nil
		g.mu.Unlock()
		if len(queue) == 0 {
			return
		}
		for _, f := range queue {
			f()
		}
	}
}

// settle lets the timers that were not stopped ring.
func (g *stage) settle() {
	timers := g.timers
	g.timers = nil
	for _, f := range timers {
		if *f != nil {
			(*f)()
		}
	}
	g.rest()
}

func mouse(x, y float32, b desktop.MouseButton, m fyne.KeyModifier) *desktop.MouseEvent {
	e := &desktop.MouseEvent{Button: b, Modifier: m}
	e.Position = fyne.NewPos(x, y)
	e.AbsolutePosition = e.Position
	return e
}

// hoverOn moves the pointer into the viewport.
func (g *stage) hoverOn(x, y float32) {
	g.MouseIn(mouse(x, y, 0, 0))
	g.rest()
}

// click presses and releases a button.
func (g *stage) click(x, y float32, b desktop.MouseButton, m fyne.KeyModifier) {
	g.MouseDown(mouse(x, y, b, m))
	g.MouseUp(mouse(x, y, b, m))
	g.rest()
}

// drags moves with the left button held, as Fyne reports it.
func (g *stage) drags(x, y, dx, dy float32, m fyne.KeyModifier) {
	g.MouseDown(mouse(x, y, desktop.MouseButtonPrimary, m))
	for i := 1; i <= 4; i++ {
		e := &fyne.DragEvent{}
		e.Position = fyne.NewPos(x+dx*float32(i)/4, y+dy*float32(i)/4)
		g.Dragged(e)
	}
	g.MouseUp(mouse(x+dx, y+dy, desktop.MouseButtonPrimary, m))
	g.DragEnd()
	g.rest()
}

// cubeScene is a cube of side 2 about the origin and, behind it, another one.
func cubeScene() draft.Scene {
	one := r3.Vec{X: 1, Y: 1, Z: 1}
	near := meshtest.Box(r3.Scale(-1, one), one)
	far := meshtest.Box(r3.Vec{X: -1, Y: 4, Z: -1}, r3.Vec{X: 5, Y: 6, Z: 1})
	return draft.Scene{Parts: []draft.PartView{{Mesh: near}, {Mesh: far}}}
}

// facing looks at the cubes from the front, 75 units of the canvas to the unit.
func facing() draft.Camera { return draft.Camera{Height: 4, Up: mesh.UpZ}.Straight(draft.Front) }
