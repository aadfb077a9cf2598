package draft

// TitleBlock is the drawing's title block, at the lower right of the picture:
// a heading with a note at its right, and rows of cells below (ISO 7200 in
// spirit: what it is, in what unit, from where seen, which version).
type TitleBlock struct {
	Title string
	Note  string
	Rows  [][]string // cells of one row, evenly wide
}

const (
	titleWidth = 256.0 // pen units
	titleRow   = 23.0
	titleInset = 9.0 // from the picture's edges
	titlePad   = 8.0
)

func (m TitleBlock) draw(c *canvas) {
	w, h := c.px(titleWidth), c.px(titleRow)*float64(1+len(m.Rows))
	x1, y1 := float64(c.view.Width)-c.px(titleInset), float64(c.view.Height)-c.px(titleInset)
	x0, y0 := x1-w, y1-h
	if x0 < 0 || y0 < 0 {
		return // no room: the picture itself matters more
	}
	c.taken = append(c.taken, box{x0, y0, x1, y1}.grow(c.px(6)))
	ground := appendTriangle(appendTriangle(nil,
		Pixel{X: x0, Y: y0}, Pixel{X: x1, Y: y0}, Pixel{X: x1, Y: y1}),
		Pixel{X: x0, Y: y0}, Pixel{X: x1, Y: y1}, Pixel{X: x0, Y: y1})
	c.add(layerBlock, Item{Color: c.palette.Color(InkPaperTint), Tris: ground})
	rule := pen{color: c.palette.Color(InkRule), width: c.px(narrowPen)}
	line := func(xa, ya, xb, yb float64) path {
		return newPath([]Pixel{{X: xa, Y: ya}, {X: xb, Y: yb}})
	}
	lines := []path{line(x0, y0, x1, y0), line(x0, y1, x1, y1), line(x0, y0, x0, y1), line(x1, y0, x1, y1)}
	c.cell(m.Title, x0, y0, InkMain, Boldface, textSize, false)
	c.cell(m.Note, x1, y0, InkFaint, Plainface, smallSize, true)
	for i, row := range m.Rows {
		y := y0 + c.px(titleRow)*float64(i+1)
		lines = append(lines, line(x0, y, x1, y))
		for j, s := range row {
			x := x0 + w*float64(j)/float64(len(row))
			if j > 0 {
				lines = append(lines, line(x, y, x, y+c.px(titleRow)))
			}
			c.cell(s, x, y, InkMain, Plainface, smallSize, false)
		}
	}
	c.stroke(layerBlock, rule, lines...)
}

// cell sets a text in the row that begins at y, from x on or, if right, up to x.
func (c *canvas) cell(s string, x, y float64, ink Ink, face Face, size float64, right bool) {
	if s == "" {
		return
	}
	w, asc, desc := c.measure.Measure(s, c.px(size), face)
	x += c.px(titlePad)
	if right {
		x -= w + 2*c.px(titlePad)
	}
	c.add(layerBlock, Item{Color: c.palette.Color(ink), Text: &Text{
		S: s, X: x, Y: y + (c.px(titleRow)+asc-desc)/2, Size: c.px(size), Face: face,
	}})
}
