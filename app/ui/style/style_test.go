package style

import (
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
)

// luminance is the relative luminance of WCAG 2.1, definition "relative
// luminance", https://www.w3.org/TR/WCAG21/#dfn-relative-luminance.
func luminance(c color.Color) float64 {
	n := color.NRGBAModel.Convert(c).(color.NRGBA)
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(n.R) + 0.7152*lin(n.G) + 0.0722*lin(n.B)
}

func contrast(a, b color.Color) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text.
func TestTextIsLegible(t *testing.T) {
	for _, night := range []bool{false, true} {
		th := New(night)
		at := func(n Tone) color.Color { return th.Color(n, theme.VariantLight) }
		for _, ground := range []Tone{Paper, Panel} {
			for _, text := range []Tone{Ink, Faded, Reach, Good, Stop} {
				if c := contrast(at(text), at(ground)); c < 4.5 {
					t.Errorf("night %v: %s on %s has contrast %.2f, below 4.5", night, text, ground, c)
				}
			}
			// Figures at the flags are larger than body text needs: 3 to 1 (1.4.11).
			for _, mark := range []Tone{Accent, Check} {
				if c := contrast(at(mark), at(ground)); c < 3 {
					t.Errorf("night %v: %s on %s has contrast %.2f, below 3", night, mark, ground, c)
				}
			}
		}
		if c := contrast(at(OnInk), at(Accent)); c < 4 {
			t.Errorf("night %v: words on the accent have contrast %.2f", night, c)
		}
	}
}

func TestEveryNameHasAnOpaqueOrTintedInk(t *testing.T) {
	th := New(false)
	for _, n := range []fyne.ThemeColorName{
		theme.ColorNameBackground, theme.ColorNameButton, theme.ColorNameForeground, theme.ColorNamePrimary,
		theme.ColorNameSeparator, theme.ColorNameInputBackground, theme.ColorNameSelection, "unknown",
	} {
		if _, _, _, a := th.Color(n, theme.VariantDark).RGBA(); a == 0 {
			t.Errorf("%s is invisible", n)
		}
	}
}

func TestFacesAreAllThere(t *testing.T) {
	th := New(false)
	seen := map[string]bool{}
	for _, s := range []fyne.TextStyle{{}, {Bold: true}, {Italic: true}, {Monospace: true}, {Monospace: true, Bold: true}} {
		f := th.Font(s)
		if len(f.Content()) == 0 || seen[f.Name()] {
			t.Errorf("style %+v has no face of its own (%s)", s, f.Name())
		}
		seen[f.Name()] = true
	}
}
