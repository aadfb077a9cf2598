package draft

import (
	"image/color"
	"math"
	"testing"
)

// luminance is the relative luminance of WCAG 2.1.
func luminance(c color.NRGBA) float64 {
	f := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.03928 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
}

func contrast(a, b color.NRGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// Contrast black on white is 21 to 1 (WCAG 2.1).
func TestContrastPublished(t *testing.T) {
	if c := contrast(rgb(0), rgb(0xffffff)); math.Abs(c-21) > 1e-12 {
		t.Errorf("black on white %g, want 21", c)
	}
}

// Text is readable in both themes: 4.5 to 1 for what must be read (WCAG 2.1,
// 1.4.3), 3 to 1 for the accents, which are set bold or drawn as lines (1.4.11).
func TestInksAreReadable(t *testing.T) {
	for name, p := range map[string]Palette{"paper": Paper(), "night": Night()} {
		paper := p.Color(InkPaper)
		for ink, least := range map[Ink]float64{
			InkMain: 7, InkFaint: 3.9, InkHinge: 3, InkReach: 4.5, InkSide: 2.6, InkGood: 4.5, InkBad: 4.5, InkRange: 2,
		} {
			if c := contrast(p.Color(ink), paper); c < least {
				t.Errorf("%s: ink %d on paper %.2f to 1, want %g", name, ink, c, least)
			}
		}
		for i := range MaxTints {
			if c := contrast(p.Color(InkMain), p.Tint(i)); c < 4.5 {
				t.Errorf("%s: main ink on tint %d %.2f to 1, want 4.5", name, i, c)
			}
		}
	}
}

func TestPaletteRanges(t *testing.T) {
	p := Paper()
	if p.Tint(-1) != p.Tint(MaxTints-1) || p.Tint(MaxTints) != p.Tint(0) {
		t.Error("tints are not counted round")
	}
	if p.Color(200) != p.Color(InkMain) {
		t.Error("an unknown ink is not the main one")
	}
	if (Palette{}).orPaper() != p {
		t.Error("the zero palette is not paper")
	}
}
