package meshio_test

import (
	"bytes"
	"strings"
	"testing"

	"pintle/fit/meshio"
)

// Every file cut at every byte must be refused in one clear sentence. Text
// formats without an end mark may survive: then what is left must be a model.
func TestCutAtEveryByte(t *testing.T) {
	for name, data := range samples(t) {
		t.Run(name, func(t *testing.T) {
			// Up to here a cut must show.
			mustFail := len(data)
			switch name {
			case "OBJ": // behind the first three corners a cut file is a sound file
				mustFail = bytes.Index(data, []byte("3//1"))
			case "PLY ASCII": // the last number may lose digits, the last line its end
				mustFail = bytes.LastIndexByte(data, ' ')
			case "STL ASCII":
				// A cut after the first solid's end, or within the last name, leaves whole solids.
				mustFail = bytes.Index(data, []byte("endsolid"))
			case "glTF", "glTF sparse":
				mustFail = len(bytes.TrimRight(data, "\n"))
			case "GLB":
				mustFail = len(data) - 1
			case "PLY little", "PLY big":
				mustFail = len(data) - 2 // the last element is of no interest
			}
			for n := range len(data) {
				m, err := meshio.Decode(t.Context(), bytes.NewReader(data[:n]), int64(n), "", meshio.Options{Name: "cut." + extension(name)})
				switch {
				case err != nil:
					checkRefusal(t, err, "cut.")
				case n < mustFail:
					t.Errorf("cut at byte %d of %d goes unseen", n, len(data))
				case len(m.Parts) == 0:
					t.Errorf("cut at byte %d leaves a model without parts", n)
				}
			}
		})
	}
}

func extension(sample string) string {
	word, _, _ := strings.Cut(sample, " ")
	return strings.ToLower(word)
}

// Every byte of every file set to every one of a few nasty values: no panic,
// and an error is a clear sentence.
func TestSpoiltBytes(t *testing.T) {
	for name, data := range samples(t) {
		t.Run(name, func(t *testing.T) {
			for i := range data {
				spoilt := bytes.Clone(data)
				for _, v := range []byte{0, 0xff, 0x80, '-', '9', '{', '"', '\n'} {
					spoilt[i] = v
					_, err := meshio.Decode(t.Context(), bytes.NewReader(spoilt), int64(len(spoilt)), "", meshio.Options{Name: "x." + extension(name)})
					if err != nil {
						checkRefusal(t, err)
					}
				}
			}
		})
	}
}
