package draft

import "image/color"

// Drawing is what Draw makes of a scene's marks: items in drawing order, in
// pixels, to be put on the shaded picture of the same View.
type Drawing struct {
	Items []Item
}

// Item is one piece of a drawing: either triangles of one colour or a text.
type Item struct {
	Color color.NRGBA
	// Tris holds three corners per triangle, all turning the same way. Where
	// triangles of one item overlap, the colour is laid on once.
	Tris []Pixel
	// Test asks for the triangles to be drawn only where the shaded picture has
	// nothing nearer at that pixel.
	Test bool
	Text *Text
}

// Face names a typeface of the drawing.
type Face uint8

// The typefaces: plain, bold, and one whose figures stand in columns.
const (
	Plainface Face = iota
	Boldface
	Monoface
)

// Text is a line of text set with its baseline's left end at X, Y.
type Text struct {
	S    string
	X, Y float64 // pixels
	Size float64 // type size in pixels
	Face Face
	Halo color.NRGBA // ground laid round the letters; none if A is 0
}

// Measurer tells how much room a line of text takes, in pixels at a type size
// in pixels.
type Measurer interface {
	Measure(s string, size float64, face Face) (width, ascent, descent float64)
}

// Depths reads the shaded picture's depth buffer; nil means nothing hides
// anything. Depth returns 1 where there is nothing or outside the picture.
type Depths interface {
	Depth(x, y int) float64
}

// Tools is what drawing needs besides the scene. Measurer must be given; the
// rest may be nil.
type Tools struct {
	Measurer Measurer
	Depths   Depths
	Memo     *Memo
}

// Draw lays out and draws the scene's marks for the view. It is deterministic:
// equal arguments give equal drawings, with or without a memo.
func Draw(s Scene, v View, t Tools) Drawing {
	c := newCanvas(s, v, t)
	for _, mark := range s.Marks {
		if mark != nil {
			mark.draw(c)
		}
	}
	c.placeCallouts()
	return c.drawing()
}
