package offscreen

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pintle/viewport/draft"
)

// fonts sets text. The zero value needs load.
type fonts struct {
	parsed [3]*opentype.Font
	faces  map[faceKey]font.Face
	alpha  []uint8
	grown  []uint8
}

type faceKey struct {
	face  draft.Face
	sixty int // size in 64ths of a pixel
}

// maxFaces bounds the faces kept: a few sizes at a few scales.
const maxFaces = 24

func (f *fonts) load() error {
	f.faces = make(map[faceKey]font.Face)
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF, gomono.TTF} {
		p, err := opentype.Parse(ttf)
		if err != nil {
			return fmt.Errorf("read the built-in typeface %d: %w", i, err)
		}
		f.parsed[i] = p
	}
	return nil
}

// legible keeps a type size within what can be set.
func legible(size float64) float64 {
	if !(size >= 1) {
		return 1
	}
	return math.Min(size, 512)
}

// maxText bounds the pixels of one text: a line across a large picture.
const maxText = 1 << 24

// face returns a face of the size in pixels.
func (f *fonts) face(face draft.Face, size float64) font.Face {
	key := faceKey{face, int(math.Round(64 * legible(size)))}
	if k, ok := f.faces[key]; ok {
		return k
	}
	if len(f.faces) >= maxFaces {
		clear(f.faces)
	}
	// At 72 dots per inch a point is a pixel.
	opts := &opentype.FaceOptions{Size: float64(key.sixty) / 64, DPI: 72, Hinting: font.HintingNone}
	k, err := opentype.NewFace(f.parsed[min(int(face), len(f.parsed)-1)], opts)
	if err != nil {
		return nil // only for a font without glyphs, which ours are not
	}
	f.faces[key] = k
	return k
}

// Measure implements draft.Measurer.
func (f *fonts) Measure(s string, size float64, face draft.Face) (width, ascent, descent float64) {
	k := f.face(face, size)
	if k == nil {
		return 0, 0, 0
	}
	m := k.Metrics()
	// Figures and capitals are what our labels are made of: centre on those.
	ascent = float64(m.CapHeight) / 64
	return float64(font.MeasureString(k, s)) / 64, ascent * 1.18, ascent * 0.18
}

// text sets a line of text, on its halo if it has one.
func (f *fonts) text(img *image.RGBA, t draft.Text, c color.NRGBA) {
	k := f.face(t.Face, t.Size)
	if k == nil || t.S == "" || math.IsNaN(t.X+t.Y) || math.Abs(t.X)+math.Abs(t.Y) > 1<<24 {
		return
	}
	size := legible(t.Size)
	pad := int(math.Ceil(size*0.22)) + 1
	m := k.Metrics()
	asc, desc := m.Ascent.Ceil(), m.Descent.Ceil()
	w := font.MeasureString(k, t.S).Ceil() + 2*pad
	h := asc + desc + 2*pad
	// A baseline on a whole pixel keeps the letters' feet crisp.
	x0, y0 := int(math.Floor(t.X))-pad, int(math.Round(t.Y))-asc-pad
	if !image.Rect(x0, y0, x0+w, y0+h).Overlaps(img.Rect) || w > maxText/h {
		return
	}
	f.alpha = zeroed(f.alpha, w*h)
	dst := &image.Alpha{Pix: f.alpha, Stride: w, Rect: image.Rect(0, 0, w, h)}
	d := font.Drawer{
		Dst: dst, Src: image.Opaque, Face: k,
		Dot: fixed.Point26_6{X: fixed.Int26_6(64 * (float64(pad) + t.X - math.Floor(t.X))), Y: fixed.I(asc + pad)},
	}
	d.DrawString(t.S)
	if t.Halo.A > 0 {
		f.grow(w, h, size*0.2)
		stamp(img, f.grown, w, x0, y0, t.Halo)
	}
	stamp(img, f.alpha, w, x0, y0, c)
}

// grow makes f.grown the coverage in f.alpha spread out by a radius.
func (f *fonts) grow(w, h int, radius float64) {
	f.grown = zeroed(f.grown, w*h)
	n := int(math.Ceil(radius))
	for dy := -n; dy <= n; dy++ {
		for dx := -n; dx <= n; dx++ {
			cover := radius + 0.5 - math.Hypot(float64(dx), float64(dy))
			if cover <= 0 {
				continue
			}
			weight := uint32(256 * math.Min(cover, 1))
			for y := max(0, dy); y < min(h, h+dy); y++ {
				src, dst := f.alpha[(y-dy)*w:(y-dy+1)*w], f.grown[y*w:(y+1)*w]
				for x := max(0, dx); x < min(w, w+dx); x++ {
					dst[x] = max(dst[x], uint8(uint32(src[x-dx])*weight>>8))
				}
			}
		}
	}
}

// stamp lays a colour on by a coverage map of row length w whose corner is at
// x0, y0 of the picture.
func stamp(img *image.RGBA, cover []uint8, w, x0, y0 int, c color.NRGBA) {
	for y := range len(cover) / w {
		if y0+y < 0 || y0+y >= img.Rect.Dy() {
			continue
		}
		for x := max(0, -x0); x < min(w, img.Rect.Dx()-x0); x++ {
			if a := uint32(cover[y*w+x]) * uint32(c.A) / 255; a > 0 {
				blend(img.Pix[(y0+y)*img.Stride+4*(x0+x):], c, a)
			}
		}
	}
}

// zeroed returns a slice of n zeros, reusing b.
func zeroed(b []uint8, n int) []uint8 {
	if cap(b) < n {
		return make([]uint8, n)
	}
	b = b[:n]
	clear(b)
	return b
}
