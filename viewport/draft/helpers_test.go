package draft

import (
	"math"
	"testing"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

// plainMeasure gives every character the same width.
type plainMeasure struct{}

func (plainMeasure) Measure(s string, size float64, _ Face) (w, asc, desc float64) {
	return 0.6 * size * float64(utf8.RuneCountInString(s)), 0.8 * size, 0.2 * size
}

func drawAll(s Scene, v View) Drawing { return Draw(s, v, Tools{Measurer: plainMeasure{}}) }

func vecGen(span float64) *rapid.Generator[r3.Vec] {
	f := rapid.Float64Range(-span, span)
	return rapid.Custom(func(t *rapid.T) r3.Vec {
		return r3.Vec{X: f.Draw(t, "x"), Y: f.Draw(t, "y"), Z: f.Draw(t, "z")}
	})
}

func cameraGen() *rapid.Generator[Camera] {
	return rapid.Custom(func(t *rapid.T) Camera {
		return Camera{
			Target:    vecGen(50).Draw(t, "target"),
			Azimuth:   rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "azimuth"),
			Elevation: rapid.Float64Range(-math.Pi/2, math.Pi/2).Draw(t, "elevation"),
			Roll:      rapid.SampledFrom([]float64{0, 0.3, -2}).Draw(t, "roll"),
			Height:    rapid.Float64Range(1, 200).Draw(t, "height"),
			FOV:       rapid.SampledFrom([]float64{0, 0.2, 0.8}).Draw(t, "fov"),
			Up:        rapid.SampledFrom([]mesh.Up{"", mesh.UpY, mesh.UpZ}).Draw(t, "up"),
		}
	})
}

func wantVec(t testing.TB, what string, got, want r3.Vec, tol float64) {
	t.Helper()
	if d := r3.Norm(r3.Sub(got, want)); !(d <= tol) {
		t.Errorf("%s = %v, want %v (off by %g, allowed %g)", what, got, want, d, tol)
	}
}

// area returns the area of an item's triangles and whether all turn one way.
func area(tris []Pixel) (sum float64, oneWay bool) {
	oneWay = true
	for i := 0; i+2 < len(tris); i += 3 {
		a, b, c := tris[i], tris[i+1], tris[i+2]
		s := ((b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)) / 2
		sum += s
		oneWay = oneWay && s >= -1e-9
	}
	return sum, oneWay
}

func texts(d Drawing) []Text {
	var out []Text
	for _, i := range d.Items {
		if i.Text != nil {
			out = append(out, *i.Text)
		}
	}
	return out
}

// front is the view along +Y of a square 10 units high about the origin.
func front(w, h int) View {
	c := Camera{Height: 10}.Straight(Front)
	return c.View(w, h, 1, r3.Box{Min: r3.Vec{X: -5, Y: -5, Z: -5}, Max: r3.Vec{X: 5, Y: 5, Z: 5}})
}
