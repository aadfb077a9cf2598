// Package style is the look of the window: paper and ink by day, chalk on
// slate by night, one accent. It is a Fyne theme plus the few named colours
// that the theme has no word for.
package style

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Tone is a named ink of the sheet.
type Tone = fyne.ThemeColorName

// The inks beyond Fyne's own names.
const (
	Paper  Tone = "pintle-paper"  // the drawing sheet
	Panel  Tone = "pintle-panel"  // the margins round it
	Ink    Tone = "pintle-ink"    // text and lines
	Faded  Tone = "pintle-faded"  // labels, units
	Rule   Tone = "pintle-rule"   // hairlines between things
	Accent Tone = "pintle-accent" // the hinge, and the one thing to do next
	Reach  Tone = "pintle-reach"  // the reach direction, the motion cursor
	Side   Tone = "pintle-side"   // the side direction
	Good   Tone = "pintle-good"   // measured and fine
	Check  Tone = "pintle-check"  // worth a look
	Stop   Tone = "pintle-stop"   // must be mended
	Range  Tone = "pintle-range"  // the free range
	OnInk  Tone = "pintle-on-ink" // text on accent or ink
)

type ramp map[Tone]color.NRGBA

func rgb(v uint32) color.NRGBA {
	return color.NRGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 255}
}

func alpha(c color.NRGBA, a uint8) color.NRGBA {
	c.A = a
	return c
}

func paperRamp() ramp {
	return ramp{
		Paper: rgb(0xf6f3ea), Panel: rgb(0xefeadc), Ink: rgb(0x1d2733), Faded: rgb(0x5f6870),
		Rule: rgb(0xd8d1bf), Accent: rgb(0xd4452a), Reach: rgb(0x08706b), Side: rgb(0x83888d),
		Good: rgb(0x35734a), Check: rgb(0x9a6a07), Stop: rgb(0xb3261e), Range: rgb(0xeee4c8), OnInk: rgb(0xfdfbf5),
	}
}

func nightRamp() ramp {
	return ramp{
		Paper: rgb(0x17212a), Panel: rgb(0x161c22), Ink: rgb(0xe6e1d3), Faded: rgb(0x98a1a8),
		Rule: rgb(0x333d46), Accent: rgb(0xf0694b), Reach: rgb(0x3fb5ab), Side: rgb(0x9aa0a5),
		Good: rgb(0x7cc08f), Check: rgb(0xe0ae4a), Stop: rgb(0xff7b6b), Range: rgb(0x3a3526), OnInk: rgb(0x14191e),
	}
}

// Theme is Pintle's Fyne theme. The zero value is not usable; call New.
type Theme struct {
	inks    ramp
	night   bool
	regular fyne.Resource
	bold    fyne.Resource
	italic  fyne.Resource
	mono    fyne.Resource
	monoB   fyne.Resource
}

// New returns the paper theme, or the night theme.
func New(night bool) *Theme {
	t := &Theme{
		inks: paperRamp(), night: night,
		regular: fyne.NewStaticResource("regular.ttf", goregular.TTF),
		bold:    fyne.NewStaticResource("bold.ttf", gobold.TTF),
		italic:  fyne.NewStaticResource("italic.ttf", goitalic.TTF),
		mono:    fyne.NewStaticResource("mono.ttf", gomono.TTF),
		monoB:   fyne.NewStaticResource("mono-bold.ttf", gomonobold.TTF),
	}
	if night {
		t.inks = nightRamp()
	}
	return t
}

// Night reports whether this is the night theme.
func (t *Theme) Night() bool { return t.night }

// Color answers Fyne's names with the sheet's inks; the variant is ignored,
// since the user chooses paper or night.
func (t *Theme) Color(name fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	if c, ok := t.inks[name]; ok {
		return c
	}
	ink, accent := t.inks[Ink], t.inks[Accent]
	switch name {
	case theme.ColorNameBackground, theme.ColorNameHeaderBackground, theme.ColorNameMenuBackground:
		return t.inks[Panel]
	case theme.ColorNameInputBackground, theme.ColorNameButton, theme.ColorNameOverlayBackground:
		return t.inks[Paper]
	case theme.ColorNameForeground:
		return ink
	case theme.ColorNamePlaceHolder:
		return t.inks[Faded]
	case theme.ColorNameDisabled:
		return alpha(t.inks[Faded], 150)
	case theme.ColorNameDisabledButton:
		return t.inks[Panel]
	case theme.ColorNamePrimary, theme.ColorNameHyperlink:
		return accent
	case theme.ColorNameFocus:
		return alpha(t.inks[Reach], 110)
	case theme.ColorNameHover:
		return alpha(ink, 16)
	case theme.ColorNamePressed:
		return alpha(ink, 40)
	case theme.ColorNameSelection:
		return alpha(t.inks[Reach], 60)
	case theme.ColorNameSeparator, theme.ColorNameInputBorder:
		return t.inks[Rule]
	case theme.ColorNameScrollBar:
		return alpha(ink, 70)
	case theme.ColorNameScrollBarBackground, theme.ColorNameShadow:
		return alpha(ink, 10)
	case theme.ColorNameSuccess:
		return t.inks[Good]
	case theme.ColorNameWarning:
		return t.inks[Check]
	case theme.ColorNameError:
		return t.inks[Stop]
	case theme.ColorNameForegroundOnPrimary, theme.ColorNameForegroundOnError,
		theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning:
		return t.inks[OnInk]
	}
	return ink
}

// Font returns the family's face for a text style.
func (t *Theme) Font(s fyne.TextStyle) fyne.Resource {
	switch {
	case s.Symbol:
		return theme.DefaultTheme().Font(s)
	case s.Monospace && s.Bold:
		return t.monoB
	case s.Monospace:
		return t.mono
	case s.Bold:
		return t.bold
	case s.Italic:
		return t.italic
	}
	return t.regular
}

// Icon returns Fyne's own icons; Pintle's controls are worded, not pictured.
func (t *Theme) Icon(n fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(n) }

// Size returns lengths in Fyne units.
func (t *Theme) Size(n fyne.ThemeSizeName) float32 {
	switch n {
	case theme.SizeNameText:
		return 13
	case theme.SizeNameCaptionText:
		return 11
	case theme.SizeNameHeadingText:
		return 18
	case theme.SizeNameSubHeadingText:
		return 15
	case theme.SizeNamePadding:
		return 4
	case theme.SizeNameInnerPadding:
		return 6
	case theme.SizeNameInputRadius, theme.SizeNameSelectionRadius:
		return 2
	case theme.SizeNameScrollBar:
		return 9
	case theme.SizeNameScrollBarSmall:
		return 4
	}
	return theme.DefaultTheme().Size(n)
}
