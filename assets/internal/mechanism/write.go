package mechanism

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"pintle/assets/internal/solid"
)

// OBJ returns the mechanism as a Wavefront OBJ file: one object per part,
// polygons kept, seven decimals of a millimetre.
func (m *Mechanism) OBJ() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s: %s\n# millimetres, Z up; generated, do not edit\n", m.Name, m.Title)
	base := 1
	for _, p := range m.Parts {
		fmt.Fprintf(&b, "o %s\n", p.Name)
		for _, v := range p.Mesh.Vertices {
			fmt.Fprintf(&b, "v %s %s %s\n", decimal(v.X), decimal(v.Y), decimal(v.Z))
		}
		for _, f := range p.Mesh.Faces {
			b.WriteByte('f')
			for _, v := range f {
				b.WriteByte(' ')
				b.WriteString(strconv.Itoa(base + int(v)))
			}
			b.WriteByte('\n')
		}
		base += len(p.Mesh.Vertices)
	}
	return b.Bytes()
}

// decimal prints a coordinate with seven decimals, never as minus zero.
func decimal(x float64) string {
	s := strconv.FormatFloat(x, 'f', 7, 64)
	if s == "-0.0000000" {
		return s[1:]
	}
	return s
}

type truthPart struct {
	Name      string  `json:"name"`
	Triangles int     `json:"triangles"`
	Vertices  int     `json:"vertices"`
	Diag      float64 `json:"diag"`
	Area      float64 `json:"area"`
}

type truthStop struct {
	Degrees float64    `json:"degrees"`
	What    string     `json:"what"`
	Point   [3]float64 `json:"point"`
}

type truthHarmonic struct {
	Order     int     `json:"order"`
	Amplitude float64 `json:"amplitude"`
	Phase     float64 `json:"phase_degrees"`
	Twist     float64 `json:"twist_degrees"`
}

type truthHousing struct {
	Part      string          `json:"part"`
	Origin    [3]float64      `json:"origin"`
	Axis      [3]float64      `json:"axis"`
	Radius    float64         `json:"radius"`
	HalfWidth float64         `json:"half_width"`
	Zero      [3]float64      `json:"zero"`
	Harmonics []truthHarmonic `json:"harmonics"`
}

type truthJoint struct {
	Name     string        `json:"name"`
	Type     string        `json:"type"`
	Parent   string        `json:"parent"`
	Child    string        `json:"child"`
	Origin   [3]float64    `json:"origin"`
	Axis     [3]float64    `json:"axis"`
	Lower    float64       `json:"lower"`
	Upper    float64       `json:"upper"`
	Value    float64       `json:"value"`
	Scorable bool          `json:"scorable"`
	StopLow  *truthStop    `json:"stop_lower,omitempty"`
	StopHigh *truthStop    `json:"stop_upper,omitempty"`
	Housing  *truthHousing `json:"housing,omitempty"`
}

type truthFile struct {
	Unit    string       `json:"unit"`
	Name    string       `json:"robot"`
	Source  string       `json:"source"`
	Up      string       `json:"up_axis"`
	Notes   []string     `json:"notes"`
	Apart   [][2]string  `json:"not_touching"`
	Ignored [][2]string  `json:"ignore_pairs"`
	Parts   []truthPart  `json:"parts"`
	Joints  []truthJoint `json:"joints"`
	Version int          `json:"version"`
}

// Truth returns the joints as JSON. Angles are radians but for the fields that
// say degrees; stops count from the modelled pose.
func (m *Mechanism) Truth() ([]byte, error) {
	t := truthFile{
		Unit: "mm", Name: m.Name, Source: "generated", Up: "Z", Version: 1,
		Notes: m.Notes, Apart: [][2]string{}, Ignored: [][2]string{},
	}
	if t.Notes == nil {
		t.Notes = []string{}
	}
	for _, p := range m.Parts {
		lo, hi := p.Mesh.Bounds()
		t.Parts = append(t.Parts, truthPart{
			Name: p.Name, Triangles: p.Mesh.Triangles(), Vertices: len(p.Mesh.Vertices),
			Diag: round(hi.Sub(lo).Norm(), 6), Area: round(p.Mesh.Area(), 3),
		})
	}
	for _, j := range m.Joints {
		t.Joints = append(t.Joints, truthOf(j))
	}
	data, err := json.MarshalIndent(t, "", " ")
	if err != nil {
		return nil, fmt.Errorf("encoding the joints of %s: %w", m.Name, err)
	}
	return append(data, '\n'), nil
}

func truthOf(j Joint) truthJoint {
	t := truthJoint{
		Name: j.Name, Type: j.Kind, Parent: j.Parent, Child: j.Child,
		Origin: triple(j.Origin, 9), Axis: triple(j.Axis, 12),
		Lower: round(j.Lower, 9), Upper: round(j.Upper, 9), Value: round(j.Value, 9), Scorable: true,
	}
	if s := j.Stops; s != nil {
		t.StopLow = &truthStop{degrees(s.Lower), s.LowerWhat, triple(s.LowerPoint, 6)}
		t.StopHigh = &truthStop{degrees(s.Upper), s.UpperWhat, triple(s.UpperPoint, 6)}
	}
	if h := j.Housing; h != nil {
		t.Housing = &truthHousing{
			Part: h.Part, Origin: triple(h.Origin, 9), Axis: triple(h.Axis, 12),
			Radius: h.Radius, HalfWidth: h.HalfWidth, Zero: triple(h.Zero, 12), Harmonics: []truthHarmonic{},
		}
		for _, x := range h.Harmonics {
			t.Housing.Harmonics = append(t.Housing.Harmonics,
				truthHarmonic{x.Order, x.Amplitude, degrees(x.Phase), degrees(x.Twist)})
		}
	}
	return t
}

func degrees(rad float64) float64 { return round(rad*180/math.Pi, 9) }

func triple(v solid.Vec, decimals int) [3]float64 {
	return [3]float64{round(v.X, decimals), round(v.Y, decimals), round(v.Z, decimals)}
}

// round keeps the given number of decimals, never as minus zero.
func round(x float64, decimals int) float64 {
	s := math.Pow(10, float64(decimals))
	return math.Round(x*s)/s + 0
}
