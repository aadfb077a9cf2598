package sheet

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// region finds and shows where a ball or universal joint can lean by contact.
func (b *builder) region(j doc.Joint) {
	r := b.desk.Region()
	if r == nil {
		find := paper.NewButton("Find how far it leans", paper.Outlined, b.desk.FindRegion)
		find.SetEnabled(b.desk.Task() == nil)
		b.buttons(find)
		return
	}
	s := b.desk.Session()
	n := r.Narrowest()
	least := figures.Degrees(n.Lean, 2)
	b.row("leans least", least+" to azimuth "+figures.Degrees(n.Azimuth, 0))
	if e := n.Event; e != nil {
		b.row(s.Parts[r.Moving[e.Moving]].Name, "meets "+s.Parts[r.Still[e.Still]].Name)
	}
	if r.Ball != nil {
		b.row("twists, without lean", b.endText(r.Twist.Lower == nil, r.Twist.Range().Lower)+" … "+b.endText(r.Twist.Upper == nil, r.Twist.Range().Upper))
	}
	share := 100 * r.SolidAngle() / (4 * math.Pi)
	b.row("points into", figures.Fixed(r.SolidAngle(), 3)+" sr, "+figures.Fixed(share, 1)+" % of all")
	b.add(container.NewCenter(polarChart(r.Region, j)))
	const margin = 2 * math.Pi / 180
	b.buttons(paper.NewButton("Limits from contact, 2° short", paper.Outlined, func() { b.desk.TakeRegion(margin) }))
	for _, f := range s.RegionFindings(j, r.Region) {
		b.add(paper.Note(string(f.Severity)+"  "+f.Text, toneOf(f.Severity)))
	}
}

func (b *builder) endText(free bool, v float64) string {
	if free {
		return "free"
	}
	return figures.Degrees(v, 2)
}

// polarChart draws the region's rim seen from where the reach points: side to
// the right, hinge up, a circle at every 30 degrees of lean. The joint's limits
// are drawn in as a second line.
func polarChart(r *doc.Region, j doc.Joint) fyne.CanvasObject {
	const size, margin = 220, 18
	most := math.Pi / 6
	for _, p := range r.Rim() {
		most = max(most, p.Lean)
	}
	most = math.Ceil(most/(math.Pi/6)-1e-9) * math.Pi / 6
	scale := (size/2 - margin) / most
	at := func(azimuth, lean float64) fyne.Position {
		s, c := math.Sincos(azimuth)
		return fyne.NewPos(float32(size/2+scale*lean*c), float32(size/2-scale*lean*s))
	}
	box := container.NewWithoutLayout()
	line := func(from, to fyne.Position, width float32, tone style.Tone) {
		l := canvas.NewLine(theme.Color(tone))
		l.StrokeWidth, l.Position1, l.Position2 = width, from, to
		box.Add(l)
	}
	for lean := math.Pi / 6; lean <= most+1e-9; lean += math.Pi / 6 {
		c := canvas.NewCircle(color.Transparent)
		c.StrokeColor, c.StrokeWidth = theme.Color(style.Rule), 1
		radius := float32(scale * lean)
		c.Move(fyne.NewPos(size/2-radius, size/2-radius))
		c.Resize(fyne.NewSquareSize(2 * radius))
		box.Add(c)
	}
	line(at(math.Pi, most), at(0, most), 1, style.Rule)
	line(at(-math.Pi/2, most), at(math.Pi/2, most), 1, style.Rule)
	rim := r.Rim()
	for i, p := range rim {
		q := rim[(i+1)%len(rim)]
		line(at(p.Azimuth, p.Lean), at(q.Azimuth, q.Lean), 1.6, style.Accent)
	}
	if j.Cone != nil {
		const steps = 72
		for i := range steps {
			a, c := 2*math.Pi*float64(i)/steps, 2*math.Pi*float64(i+1)/steps
			line(at(a, min(j.Cone.At(a), most)), at(c, min(j.Cone.At(c), most)), 1, style.Check)
		}
	}
	for _, t := range []struct {
		text    string
		azimuth float64
		tone    style.Tone
	}{{"side", 0, style.Side}, {"hinge", math.Pi / 2, style.Accent}, {figures.Degrees(most, 0), -math.Pi / 4, style.Faded}} {
		x := paper.Small(t.text, t.tone)
		min := x.MinSize()
		p := at(t.azimuth, most)
		x.Move(fyne.NewPos(inBox(p.X-min.Width/2, size-min.Width), inBox(p.Y-min.Height, size-min.Height)))
		x.Resize(min)
		box.Add(x)
	}
	return paper.Fixed(size, container.NewStack(spacer(size), box))
}

// inBox keeps a coordinate from 0 to most.
func inBox(v, most float32) float32 { return max(0, min(v, most)) }

// spacer is a see-through square that gives a chart its size.
func spacer(size float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSquareSize(size))
	return r
}
