package paper

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"pintle/app/ui/figures"
	"pintle/app/ui/style"
)

const levelWidth float32 = 26

// level is a share from 0 to 1 as a small ruler: a hairline with a tick at
// either end and a bar on it.
type level struct {
	base, from, to, bar *canvas.Line
	share               float64
}

func newLevel() *level {
	hair := func(w float32) *canvas.Line {
		l := canvas.NewLine(color.Transparent)
		l.StrokeWidth = w
		return l
	}
	return &level{base: hair(1), from: hair(1), to: hair(1), bar: hair(3)}
}

// set shows a share in a tone; 0 shows nothing.
func (l *level) set(share float64, tone style.Tone) {
	l.share = min(max(share, 0), 1)
	for _, x := range []*canvas.Line{l.base, l.from, l.to} {
		x.StrokeColor = color.Transparent
	}
	l.bar.StrokeColor = color.Transparent
	if share > 0 {
		for _, x := range []*canvas.Line{l.base, l.from, l.to} {
			x.StrokeColor = ink(style.Faded)
		}
		l.bar.StrokeColor = ink(tone)
	}
}

// place puts the ruler with its left end at x and its middle at y.
func (l *level) place(x, y float32) {
	at := func(line *canvas.Line, x1, y1, x2, y2 float32) {
		line.Position1, line.Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
	}
	at(l.base, x, y+2.5, x+levelWidth, y+2.5)
	at(l.from, x, y-3, x, y+2.5)
	at(l.to, x+levelWidth, y-3, x+levelWidth, y+2.5)
	at(l.bar, x+1, y, x+1+(levelWidth-2)*float32(l.share), y)
}

func (l *level) objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{l.base, l.from, l.to, l.bar}
}

// Gauge is a share from 0 to 1 on a ruler of tenths, with its number.
type Gauge struct {
	widget.BaseWidget
	share float64
	tone  style.Tone
}

// NewGauge returns a gauge that shows a share in a tone.
func NewGauge(share float64, tone style.Tone) *Gauge {
	g := &Gauge{share: min(max(share, 0), 1), tone: tone}
	g.ExtendBaseWidget(g)
	return g
}

// CreateRenderer draws ruler, pointer and number.
func (g *Gauge) CreateRenderer() fyne.WidgetRenderer {
	r := &gaugeRenderer{g: g, number: label("", g.tone, large, fyne.TextStyle{Bold: true})}
	r.Refresh()
	return r
}

type gaugeRenderer struct {
	g       *Gauge
	number  *canvas.Text
	objects []fyne.CanvasObject
}

func (r *gaugeRenderer) MinSize() fyne.Size { return fyne.NewSize(160, 40) }

// gaugeNumber is the room that the number takes at the left.
const gaugeNumber float32 = 58

func (r *gaugeRenderer) Layout(s fyne.Size) {
	g := r.g
	r.number.Text = figures.Share(g.share)
	r.number.Color = ink(g.tone)
	h := r.number.MinSize().Height
	r.number.Move(fyne.NewPos(0, (s.Height-h)/2-3))
	r.number.Resize(fyne.NewSize(gaugeNumber, h))
	r.objects = []fyne.CanvasObject{r.number}
	x, w, y := gaugeNumber, s.Width-gaugeNumber-8, s.Height/2+2
	line := func(x1, y1, x2, y2, stroke float32, tone style.Tone) {
		l := canvas.NewLine(ink(tone))
		l.StrokeWidth = stroke
		l.Position1, l.Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
		r.objects = append(r.objects, l)
	}
	to := x + w*float32(g.share)
	line(x, y-3, to, y-3, 4, g.tone)
	line(x, y, x+w, y, 1, style.Ink)
	for i := range 11 {
		at, long := x+w*float32(i)/10, float32(4)
		if i%5 == 0 {
			long = 7
		}
		line(at, y, at, y+long, 1, style.Ink)
	}
	line(to, y-10, to, y+9, 1.5, g.tone)
	for _, i := range []int{0, 5, 10} {
		t := label([]string{"0", "0.5", "1"}[i/5], style.Faded, 10, fyne.TextStyle{})
		size := t.MinSize()
		t.Move(fyne.NewPos(x+w*float32(i)/10-size.Width/2, y+7))
		t.Resize(size)
		r.objects = append(r.objects, t)
	}
}

func (r *gaugeRenderer) Refresh()                     { r.Layout(r.g.Size()) }
func (r *gaugeRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *gaugeRenderer) Destroy()                     {}
