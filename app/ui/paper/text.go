// Package paper holds the window's small widgets: worded buttons, toggles,
// property rows, section heads, balloons, finding notes. They expose
// callbacks and know neither document nor geometry.
package paper

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"

	"pintle/app/ui/style"
)

// Text sizes in Fyne units.
const (
	small  float32 = 11
	normal float32 = 13
	large  float32 = 19
)

func ink(tone style.Tone) color.Color { return theme.Color(tone) }

func label(s string, tone style.Tone, size float32, st fyne.TextStyle) *canvas.Text {
	t := canvas.NewText(s, ink(tone))
	t.TextSize = size
	t.TextStyle = st
	return t
}

// Plain returns body text in a tone.
func Plain(s string, tone style.Tone) *canvas.Text { return label(s, tone, normal, fyne.TextStyle{}) }

// Small returns caption text in a tone.
func Small(s string, tone style.Tone) *canvas.Text { return label(s, tone, small, fyne.TextStyle{}) }

// Bold returns bold body text in ink.
func Bold(s string) *canvas.Text { return label(s, style.Ink, normal, fyne.TextStyle{Bold: true}) }

// Title returns a heading in ink.
func Title(s string) *canvas.Text { return label(s, style.Ink, large, fyne.TextStyle{Bold: true}) }

// Number returns figures set so that columns of them align.
func Number(s string, tone style.Tone) *canvas.Text {
	return label(s, tone, 12, fyne.TextStyle{Monospace: true})
}

// fitted shortens s with an ellipsis until it is at most width wide.
func fitted(s string, width, size float32, st fyne.TextStyle) string {
	if fyne.MeasureText(s, size, st).Width <= width {
		return s
	}
	r := []rune(s)
	lo, hi := 0, len(r)
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if fyne.MeasureText(string(r[:mid])+"…", size, st).Width <= width {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return string(r[:lo]) + "…"
}
