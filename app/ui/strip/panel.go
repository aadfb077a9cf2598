package strip

import (
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// View is what the panel shows.
type View struct {
	Title string // "Motion of 3 elbow"
	Value float64
	Data
	Curves []Curve // to choose from; the chosen one replaces Data.Curve
	// Freedoms names the joint's values where it has several, and Freedom is the
	// one on the ruler.
	Freedoms []string
	Freedom  int
	Note     string // what the values come to, beside the buttons
}

// Panel is the whole strip: title, choice of curve, ruler, play controls.
type Panel struct {
	OnValue func(v float64)
	OnZero  func()
	// OnFreedom is called with the number of another value that was chosen.
	OnFreedom func(i int)

	title       *canvas.Text
	ruler       *Ruler
	play, loop  *paper.Button
	less, more  *paper.Button
	curves      *fyne.Container
	curve       string
	view        View
	direction   float64
	playing     bool
	ticker      *fyne.Animation
	lastTick    time.Time
	root        fyne.CanvasObject
	curveChoice []*paper.Button
	top         *fyne.Container
	freedoms    *fyne.Container
	note        *canvas.Text
	freeChoice  []*paper.Button
}

// NewPanel returns an empty strip.
func NewPanel() *Panel {
	p := &Panel{title: paper.Bold(""), direction: 1, curves: container.NewHBox(), freedoms: container.NewHBox(), note: paper.Small("", style.Faded)}
	p.ruler = NewRuler(func(v float64) {
		p.Stop()
		p.emit(v)
	})
	p.play = paper.NewButton("Play", paper.Outlined, p.toggle)
	p.loop = paper.NewButton("to and fro", paper.Toggle, func() { p.loop.SetOn(!p.loop.On) })
	p.loop.SetOn(true)
	step := func(by float64) *paper.Button {
		return paper.NewButton("", paper.Quiet, func() { p.Stop(); p.ruler.step(by) })
	}
	p.less, p.more = step(-1), step(1)
	p.nameSteps()
	zero := paper.NewButton("as modelled", paper.Quiet, func() {
		p.Stop()
		if p.OnZero != nil {
			p.OnZero()
		}
	})
	p.note.Alignment = fyne.TextAlignTrailing
	controls := container.NewBorder(nil, nil, container.NewHBox(p.play, p.loop, p.less, p.more, zero), nil, p.note)
	p.top = container.NewHBox(p.title, p.freedoms, layout.NewSpacer(), p.curves)
	p.root = paper.Inset(16, 6, 16, 8, container.NewBorder(p.top, controls, nil, nil, p.ruler))
	return p
}

// Object returns what to put into the window.
func (p *Panel) Object() fyne.CanvasObject { return p.root }

// nameSteps words the buttons that go one degree, or a slider's small step.
func (p *Panel) nameSteps() {
	by := "1°"
	if p.view.Slider {
		by = ""
	}
	p.less.SetText("−" + by)
	p.more.SetText("+" + by)
}

// Set shows a view. What plays stops where it is of another joint.
func (p *Panel) Set(v View) {
	if v.Title != p.view.Title || v.Freedom != p.view.Freedom {
		p.Stop()
	}
	p.view = v
	p.nameSteps()
	if p.title.Text != v.Title {
		p.title.Text = v.Title
		p.top.Refresh() // the buttons beside it move
	}
	if p.note.Text != v.Note {
		p.note.Text = v.Note
		p.note.Refresh()
	}
	p.offerCurves()
	p.offerFreedoms()
	d := v.Data
	for _, c := range v.Curves {
		if c.Name == p.curve {
			d.Curve = c
		}
	}
	p.ruler.value = v.Value
	p.ruler.SetData(d)
}

func (p *Panel) offerCurves() {
	if len(p.view.Curves) > 0 && !p.has(p.curve) {
		p.curve = p.view.Curves[0].Name
	}
	same := len(p.curveChoice) == len(p.view.Curves)
	for i := 0; same && i < len(p.curveChoice); i++ {
		same = p.curveChoice[i].Text == p.view.Curves[i].Name
	}
	if !same {
		p.curveChoice = nil
		p.curves.RemoveAll()
		for _, c := range p.view.Curves {
			b := paper.NewButton(c.Name, paper.Toggle, func() {
				p.curve = c.Name
				p.Set(p.view)
			})
			p.curveChoice = append(p.curveChoice, b)
			p.curves.Add(b)
		}
	}
	for _, b := range p.curveChoice {
		b.SetOn(b.Text == p.curve)
	}
}

// offerFreedoms shows a button for each of the joint's values.
func (p *Panel) offerFreedoms() {
	same := len(p.freeChoice) == len(p.view.Freedoms)
	for i := 0; same && i < len(p.freeChoice); i++ {
		same = p.freeChoice[i].Text == p.view.Freedoms[i]
	}
	if !same {
		p.freeChoice = nil
		p.freedoms.RemoveAll()
		for i, name := range p.view.Freedoms {
			b := paper.NewButton(name, paper.Toggle, func() {
				if p.OnFreedom != nil && i != p.view.Freedom {
					p.OnFreedom(i)
				}
			})
			p.freeChoice = append(p.freeChoice, b)
			p.freedoms.Add(b)
		}
	}
	for i, b := range p.freeChoice {
		b.SetOn(i == p.view.Freedom)
	}
}

func (p *Panel) has(name string) bool {
	for _, c := range p.view.Curves {
		if c.Name == name {
			return true
		}
	}
	return false
}

func (p *Panel) emit(v float64) {
	if p.OnValue != nil {
		p.OnValue(v)
	}
}

// ends is the range that playing runs through.
func (p *Panel) ends() (lo, hi float64) {
	lo, hi = p.ruler.ends()
	if p.view.Lower != nil {
		lo = *p.view.Lower
	}
	if p.view.Upper != nil {
		hi = *p.view.Upper
	}
	if l := p.view.Limits; l != nil {
		lo, hi = max(lo, l[0]), min(hi, l[1])
	}
	return lo, hi
}

func (p *Panel) toggle() {
	if p.playing {
		p.Stop()
		return
	}
	p.playing, p.lastTick = true, time.Now()
	p.play.SetText("Pause")
	p.ticker = fyne.NewAnimation(time.Second, func(float32) { p.tick(time.Now()) })
	p.ticker.RepeatCount = fyne.AnimationRepeatForever
	p.ticker.Start()
}

// Stop ends playing. A panel that is hidden or replaced must be stopped, or it
// would go on moving the joint.
func (p *Panel) Stop() {
	if !p.playing {
		return
	}
	p.playing = false
	p.ticker.Stop()
	p.play.SetText("Play")
}

// sweepTime is how long playing takes from one end to the other.
const sweepTime = 3 * time.Second

// tick moves the joint on by the time since the last one.
func (p *Panel) tick(now time.Time) {
	if !p.playing {
		return
	}
	lo, hi := p.ends()
	dt := min(now.Sub(p.lastTick), 200*time.Millisecond)
	p.lastTick = now
	v, direction, done := advance(p.ruler.Value(), p.direction, lo, hi, float64(dt)/float64(sweepTime), p.loop.On)
	p.direction = direction
	if v != p.ruler.Value() {
		p.ruler.SetValue(v)
		p.emit(v)
	}
	if done {
		p.Stop()
	}
}

// advance moves v by a share of lo..hi in its direction. At an end it turns
// round if it is to go to and fro, and is done otherwise.
func advance(v, direction, lo, hi, share float64, toAndFro bool) (float64, float64, bool) {
	if !(hi > lo) {
		return v, direction, true
	}
	v += direction * share * (hi - lo)
	switch {
	case v >= hi && direction > 0:
		return hi, turned(direction, toAndFro), !toAndFro
	case v <= lo && direction < 0:
		return lo, turned(direction, toAndFro), !toAndFro
	}
	return math.Min(math.Max(v, lo), hi), direction, false
}

func turned(direction float64, toAndFro bool) float64 {
	if toAndFro {
		return -direction
	}
	return direction
}
