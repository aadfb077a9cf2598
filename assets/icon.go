package assets

import (
	_ "embed"
	"slices"
)

//go:embed icon/pintle.svg
var iconSVG []byte

// Icon returns the program's icon as an SVG document.
func Icon() []byte { return slices.Clone(iconSVG) }
