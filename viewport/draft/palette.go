package draft

import "image/color"

// Ink names a colour by its role, so that a scene does not change when the
// theme does. The palette says what the role looks like.
type Ink uint8

// The roles of colour in a drawing.
const (
	InkMain      Ink = iota // outlines, dimensions, text
	InkFaint                // secondary text, hidden or unimportant lines
	InkHinge                // the motion axis; also the accent
	InkReach                // the reach direction; also the current value
	InkSide                 // the side direction
	InkRange                // ranges and envelopes
	InkGood                 // a figure within tolerance
	InkBad                  // a contact, a figure out of tolerance
	InkHover                // what the pointer is on
	InkSelected             // what is picked
	InkPaper                // the ground, for text on filled symbols
	InkRule                 // frame lines of a title block
	InkPaperTint            // ground of a title block, a little darker than the paper
	inkCount
)

// MaxTints is the number of part tints in a palette.
const MaxTints = 6

// Palette gives every ink and part tint its colour. It is a plain comparable
// value; a zero palette is replaced by Paper when a scene is drawn.
type Palette struct {
	Inks  [inkCount]color.NRGBA
	Tints [MaxTints]color.NRGBA // fills of parts, used in turn
	Shade color.NRGBA           // tone that fills take away from the light; A says how much
	Wash  float64               // opacity of translucent fills, 0 to 1
	Dark  bool                  // ink is lighter than paper
}

// Color returns the colour of an ink; an unknown one gives the main ink.
func (p Palette) Color(i Ink) color.NRGBA {
	if i >= inkCount {
		i = InkMain
	}
	return p.Inks[i]
}

// Tint returns the fill of tint i, counted round the palette's tints.
func (p Palette) Tint(i int) color.NRGBA {
	return p.Tints[((i%MaxTints)+MaxTints)%MaxTints]
}

// Paper is the day theme: warm paper, blue-black ink, one vermilion accent.
func Paper() Palette {
	return Palette{
		Inks: [inkCount]color.NRGBA{
			InkMain:      rgb(0x22303c),
			InkFaint:     rgb(0x6f7780),
			InkHinge:     rgb(0xd4452a),
			InkReach:     rgb(0x0e7c7b),
			InkSide:      rgb(0x8c9193),
			InkRange:     rgb(0xc9962b),
			InkGood:      rgb(0x3f7a4a),
			InkBad:       rgb(0xb8331c),
			InkHover:     rgb(0x0e7c7b),
			InkSelected:  rgb(0xd4452a),
			InkPaper:     rgb(0xf6f3ea),
			InkRule:      rgb(0x22303c),
			InkPaperTint: rgb(0xf6f3ea),
		},
		Tints: [MaxTints]color.NRGBA{
			rgb(0xb5c2cd), rgb(0xc3cfbb), rgb(0xe2cfb4), rgb(0xc6c3d2), rgb(0xd9c4bd), rgb(0xb7cdcb),
		},
		Shade: color.NRGBA{R: 0x3a, G: 0x4a, B: 0x5c, A: 0x46},
		Wash:  0.24,
	}
}

// Night is the dark theme: the same roles on blue-black, with inks light
// enough to stay readable.
func Night() Palette {
	return Palette{
		Inks: [inkCount]color.NRGBA{
			InkMain:      rgb(0xd9dcd6),
			InkFaint:     rgb(0x8d979f),
			InkHinge:     rgb(0xf0694b),
			InkReach:     rgb(0x45b8b2),
			InkSide:      rgb(0x969ca0),
			InkRange:     rgb(0xd9ab4a),
			InkGood:      rgb(0x7cc08a),
			InkBad:       rgb(0xff7a5c),
			InkHover:     rgb(0x45b8b2),
			InkSelected:  rgb(0xf0694b),
			InkPaper:     rgb(0x17212a),
			InkRule:      rgb(0x7d8890),
			InkPaperTint: rgb(0x17212a),
		},
		Tints: [MaxTints]color.NRGBA{
			rgb(0x41525f), rgb(0x46574a), rgb(0x5f5340), rgb(0x4c4a5e), rgb(0x5c4a45), rgb(0x3f5957),
		},
		Shade: color.NRGBA{R: 0x08, G: 0x0e, B: 0x14, A: 0x6e},
		Wash:  0.22,
		Dark:  true,
	}
}

// orPaper returns the palette, or Paper for the zero palette.
func (p Palette) orPaper() Palette {
	if p == (Palette{}) {
		return Paper()
	}
	return p
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}

// fade returns the colour with its opacity multiplied by a.
func fade(c color.NRGBA, a float64) color.NRGBA {
	c.A = uint8(clamp(float64(c.A)*a+0.5, 0, 255))
	return c
}
