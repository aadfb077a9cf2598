package frame

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
)

// The places fill the window without gaps and without lying over one another,
// with the strip and without it.
func TestPlacesTileTheWindow(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	block := func() *canvas.Rectangle { return canvas.NewRectangle(nil) }
	p := Places{Head: block(), Left: block(), Drawing: block(), Strip: block(), Right: block()}
	whole := New(p)
	for _, size := range []fyne.Size{fyne.NewSize(960, 600), fyne.NewSize(1440, 900), fyne.NewSize(3000, 700)} {
		for _, strip := range []bool{true, false} {
			places := []fyne.CanvasObject{p.Head, p.Left, p.Drawing, p.Right}
			if strip {
				p.Strip.Show()
				places = append(places, p.Strip)
			} else {
				p.Strip.Hide()
			}
			whole.Resize(size.AddWidthHeight(1, 1)) // a size that differs lays out anew
			whole.Resize(size)
			area := float32(0)
			for i, a := range places {
				area += a.Size().Width * a.Size().Height
				for _, b := range places[:i] {
					if overlap(a, b) {
						t.Errorf("at %v, strip %v, two places lie over one another", size, strip)
					}
				}
			}
			if area != size.Width*size.Height {
				t.Errorf("at %v, strip %v, the places cover %v of %v", size, strip, area, size.Width*size.Height)
			}
		}
	}
}

func overlap(a, b fyne.CanvasObject) bool {
	inside := func(p, s, q, r float32) bool { return p < q+r && q < p+s }
	return inside(a.Position().X, a.Size().Width, b.Position().X, b.Size().Width) &&
		inside(a.Position().Y, a.Size().Height, b.Position().Y, b.Size().Height)
}
