package paper

import (
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"pintle/app/ui/style"
)

// NewBalloon returns a filled item balloon with a number.
func NewBalloon(number int) fyne.CanvasObject {
	disc := canvas.NewCircle(ink(style.Accent))
	space := canvas.NewRectangle(color.Transparent)
	space.SetMinSize(fyne.NewSquareSize(28))
	digit := label(strconv.Itoa(number), style.OnInk, normal, fyne.TextStyle{Bold: true})
	return Inset(0, 4, 10, 4, container.NewCenter(container.NewStack(space, disc, container.NewCenter(digit))))
}
