package offscreen

import (
	"image"
	"image/color"
	"math"
	"testing"

	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"pgregory.net/rapid"

	"pintle/viewport/draft"
)

// sheet returns a black picture.
func sheet(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = 255
	}
	return img
}

var white = color.NRGBA{R: 255, G: 255, B: 255, A: 255}

// laid returns the ink on a picture in pixels of full white.
func laid(img *image.RGBA) float64 {
	sum := 0
	for i := 0; i < len(img.Pix); i += 4 {
		sum += int(img.Pix[i])
	}
	return float64(sum) / 255
}

func pixelGen(lo, hi float64) *rapid.Generator[draft.Pixel] {
	return rapid.Custom(func(t *rapid.T) draft.Pixel {
		f := rapid.Float64Range(lo, hi)
		return draft.Pixel{X: f.Draw(t, "x"), Y: f.Draw(t, "y")}
	})
}

// turned returns the triangle turned the positive way, and its area.
func turned(a, b, c draft.Pixel) ([]draft.Pixel, float64) {
	s := ((b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)) / 2
	if s < 0 {
		b, c = c, b
	}
	return []draft.Pixel{a, b, c}, math.Abs(s)
}

// Inside the picture the coverage adds up to the triangle's area.
func TestFillCoversTheArea(t *testing.T) {
	var r raster
	r.aim(64, 48)
	rapid.Check(t, func(t *rapid.T) {
		g := pixelGen(0, 48)
		tri, want := turned(g.Draw(t, "a"), g.Draw(t, "b"), g.Draw(t, "c"))
		img := sheet(64, 48)
		r.fill(img, tri, white)
		// Each pixel is rounded to 1/255.
		if got := laid(img); math.Abs(got-want) > 0.5+want*0.01 {
			t.Fatalf("%v covers %g, want %g", tri, got, want)
		}
	})
}

// perPixel is the number of samples along a pixel's side.
const perPixel = 32

// Against counted samples, also where the triangle leaves the picture. A side
// along a row of samples makes them wrong by one row.
func TestFillAgainstSamples(t *testing.T) {
	var r raster
	r.aim(14, 10)
	rapid.Check(t, func(t *rapid.T) {
		g := pixelGen(-30, 40)
		tri, _ := turned(g.Draw(t, "a"), g.Draw(t, "b"), g.Draw(t, "c"))
		img := sheet(14, 10)
		r.fill(img, tri, white)
		for y := range 10 {
			for x := range 14 {
				want := sampled(tri, x, y)
				got := float64(img.Pix[y*img.Stride+4*x]) / 255
				if math.Abs(got-want) > 2.0/perPixel+1.0/255 {
					t.Fatalf("%v: pixel %d, %d covered %g, sampled %g", tri, x, y, got, want)
				}
			}
		}
	})
}

func sampled(t []draft.Pixel, x, y int) float64 {
	const n = perPixel
	in := 0
	for i := range n {
		for j := range n {
			px, py := float64(x)+(float64(i)+0.5)/n, float64(y)+(float64(j)+0.5)/n
			inside := true
			for k := range 3 {
				a, b := t[k], t[(k+1)%3]
				inside = inside && (b.X-a.X)*(py-a.Y)-(b.Y-a.Y)*(px-a.X) >= 0
			}
			if inside {
				in++
			}
		}
	}
	return float64(in) / (n * n)
}

// Two triangles that share a side leave no seam, and overlaps are laid on once.
func TestFillHasNoSeams(t *testing.T) {
	var r raster
	r.aim(40, 40)
	a, b := draft.Pixel{X: 3, Y: 5}, draft.Pixel{X: 36, Y: 4}
	c, d := draft.Pixel{X: 35, Y: 37}, draft.Pixel{X: 4, Y: 33}
	half := white
	half.A = 128
	for name, tris := range map[string][]draft.Pixel{
		"side by side": {a, b, c, a, c, d},
		"overlapping":  {a, b, c, a, c, d, a, b, d, b, c, d},
	} {
		img := sheet(40, 40)
		r.fill(img, tris, half)
		for y := 8; y < 32; y++ {
			for x := 8; x < 32; x++ {
				if v := img.Pix[y*img.Stride+4*x]; v < 127 || v > 129 {
					t.Fatalf("%s: pixel %d, %d is %d, want 128 all over", name, x, y, v)
				}
			}
		}
	}
}

// The sums are left empty: what is drawn next is not disturbed.
func TestFillLeavesNothingBehind(t *testing.T) {
	var r raster
	r.aim(30, 20)
	rapid.Check(t, func(t *rapid.T) {
		g := pixelGen(-40, 70)
		tri, _ := turned(g.Draw(t, "a"), g.Draw(t, "b"), g.Draw(t, "c"))
		r.fill(sheet(30, 20), tri, white)
		for i, v := range r.sum {
			if v != 0 {
				t.Fatalf("sum %d is %g after %v", i, v, tri)
			}
		}
	})
}

func TestFillBadInput(t *testing.T) {
	var r raster
	r.aim(10, 10)
	nan, inf := math.NaN(), math.Inf(1)
	for _, p := range [][]draft.Pixel{
		nil,
		{{}},
		{{}, {}, {}},
		{{X: nan}, {X: 5}, {Y: 5}},
		{{X: inf}, {X: 5}, {Y: 5}},
		{{X: -1e300}, {X: 1e300}, {Y: 1e300}},
	} {
		img := sheet(10, 10)
		r.fill(img, p, white)
		r.wash(img, draft.Item{Tris: p, Color: white}, make([]float32, 100), 0)
	}
}

// A wash is laid on once per pixel, and only where nothing is nearer.
func TestWashRespectsDepth(t *testing.T) {
	var r raster
	r.aim(20, 10)
	depth := make([]float32, 200)
	for i := range depth {
		depth[i] = 1
		if i%20 >= 10 {
			depth[i] = 0.2
		}
	}
	q := func(x, y float64) draft.Pixel { return draft.Pixel{X: x, Y: y, Depth: 0.5} }
	tris := []draft.Pixel{q(0, 0), q(20, 0), q(20, 10), q(0, 0), q(20, 10), q(0, 10), q(0, 0), q(20, 0), q(0, 10)}
	img := sheet(20, 10)
	half := white
	half.A = 128
	r.wash(img, draft.Item{Tris: tris, Color: half}, depth, 1e-3)
	for i := 0; i < len(img.Pix); i += 4 {
		want := uint8(128)
		if (i/4)%20 >= 10 {
			want = 0
		}
		if img.Pix[i] != want {
			t.Fatalf("pixel %d is %d, want %d", i/4, img.Pix[i], want)
		}
	}
}

func TestTextIsWhereItWasMeasured(t *testing.T) {
	c, err := newCompositor()
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []float64{11, 13, 26} {
		w, asc, _ := c.Measure("R149.91°", size, draft.Boldface)
		img := sheet(200, 80)
		c.text(img, draft.Text{S: "R149.91°", X: 20.4, Y: 50, Size: size, Face: draft.Boldface}, white)
		x0, y0, x1, y1 := 200, 80, 0, 0
		for y := range 80 {
			for x := range 200 {
				if img.Pix[y*img.Stride+4*x] > 20 {
					x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x+1), max(y1, y+1)
				}
			}
		}
		if float64(x0) < 20 || float64(x1) > 20.4+w+1 || float64(y0) < 50-asc-1 || y1 > 51 {
			t.Errorf("size %g: ink in %d..%d x %d..%d, measured %g wide and %g high", size, x0, x1, y0, y1, w, asc)
		}
		if float64(x1-x0) < 0.8*w {
			t.Errorf("size %g: ink %d wide, measured %g", size, x1-x0, w)
		}
	}
}

// Every sign that the program writes is in all three typefaces.
func TestTypefacesHaveOurSigns(t *testing.T) {
	var f fonts
	if err := f.load(); err != nil {
		t.Fatal(err)
	}
	var buf sfnt.Buffer
	for i, face := range f.parsed {
		for _, r := range "0123456789+-−±°…×·µ²³()/:,. ABCXYZabcxyzäöüéßø→≤≥Ø" {
			if g, err := (*opentype.Font)(face).GlyphIndex(&buf, r); err != nil || g == 0 {
				t.Errorf("typeface %d has no %q", i, r)
			}
		}
	}
}

func TestTextBadInput(t *testing.T) {
	c, err := newCompositor()
	if err != nil {
		t.Fatal(err)
	}
	img := sheet(20, 20)
	for _, x := range []draft.Text{
		{S: "a", X: math.NaN(), Size: 10},
		{S: "a", X: math.Inf(1), Size: 10},
		{S: "a", X: 1e18, Size: 10},
		{S: "a", Size: math.NaN()},
		{S: "a", Size: -4},
		{S: "", Size: 10},
		{S: "a", Size: 1e9},
		{S: "a", X: -500, Size: 9},
		{S: "a\x00\xff\n", Size: 12, X: 2, Y: 12, Face: 99},
	} {
		c.text(img, x, white)
	}
	for i := range 200 {
		c.face(draft.Plainface, 5+float64(i)/4)
	}
	if len(c.faces) > maxFaces {
		t.Errorf("%d faces kept, want at most %d", len(c.faces), maxFaces)
	}
}

// The halo keeps a line off the letters.
func TestHaloSurroundsTheLetters(t *testing.T) {
	c, err := newCompositor()
	if err != nil {
		t.Fatal(err)
	}
	img := sheet(60, 30)
	red := color.NRGBA{R: 255, A: 255}
	c.text(img, draft.Text{S: "8", X: 20, Y: 20, Size: 16, Halo: red}, white)
	halo := 0
	for i := 0; i < len(img.Pix); i += 4 {
		if img.Pix[i] > 200 && img.Pix[i+1] < 50 {
			halo++
		}
	}
	if halo < 60 {
		t.Errorf("%d pixels of halo, want a ring of it", halo)
	}
}

func BenchmarkFill(b *testing.B) {
	var r raster
	r.aim(1440, 900)
	img := sheet(1440, 900)
	tris, _ := turned(draft.Pixel{X: 10, Y: 12}, draft.Pixel{X: 1430, Y: 880}, draft.Pixel{X: 1428, Y: 882})
	b.ReportAllocs()
	for b.Loop() {
		r.fill(img, tris, white)
	}
}
