package batch

import (
	"math"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics"

	"gonum.org/v1/gonum/spatial/r3"
)

// The runout in the motion command's JSON: the worst over all housings, then
// each surface.
type (
	runoutAnswer struct {
		Radial   directionAnswer `json:"radial"`
		Axial    directionAnswer `json:"axial"`
		Sagitta  wire.Num        `json:"sagitta"`
		Surfaces []surfaceAnswer `json:"surfaces"`
	}
	directionAnswer struct {
		Circular wire.Num `json:"circular"`
		Total    wire.Num `json:"total"`
	}
	surfaceAnswer struct {
		Part         string               `json:"part"`
		Direction    kinematics.Direction `json:"direction"`
		Circular     wire.Num             `json:"circular"`
		Total        wire.Num             `json:"total"`
		Arc          wire.Deg             `json:"arc"`
		Sagitta      wire.Num             `json:"sagitta"`
		Stations     int                  `json:"stations"`
		Triangles    int                  `json:"triangles"`
		Eccentricity *wire.Vec            `json:"eccentricity"` // from the hinge to the surface's own axis
		OwnAxis      *axisAnswer          `json:"own_axis"`
		Tilt         wire.Deg             `json:"tilt"`
	}
)

func newRunoutAnswer(list []doc.PartRunout) runoutAnswer {
	a := runoutAnswer{
		Radial: directionAnswer{noNumber(), noNumber()}, Axial: directionAnswer{noNumber(), noNumber()},
		Sagitta: noNumber(), Surfaces: []surfaceAnswer{},
	}
	for _, r := range list {
		worse(&a.Radial.Circular, r.CircularRadial)
		worse(&a.Radial.Total, r.TotalRadial)
		worse(&a.Axial.Circular, r.CircularAxial)
		worse(&a.Axial.Total, r.TotalAxial)
		worse(&a.Sagitta, r.Sagitta)
		for i, s := range r.Surfaces {
			out := surfaceAnswer{
				Part: r.Part, Direction: s.Direction, Circular: wire.Num(s.Circular), Total: wire.Num(s.Total),
				Arc: wire.Deg(s.Arc), Sagitta: wire.Num(s.Sagitta), Stations: len(s.Stations),
				Triangles: len(r.Patches[i]), Tilt: wire.Deg(s.Tilt),
			}
			if kinematics.Finite(s.Eccentricity) {
				v := wire.Vec(s.Eccentricity)
				out.Eccentricity = &v
			}
			if kinematics.Finite(s.Own.Point) && kinematics.Finite(s.Own.Dir) && s.Own.Dir != (r3.Vec{}) {
				out.OwnAxis = &axisAnswer{Origin: wire.Vec(s.Own.Point), Direction: wire.Vec(s.Own.Dir)}
			}
			a.Surfaces = append(a.Surfaces, out)
		}
	}
	return a
}

func worse(to *wire.Num, v float64) {
	if old := float64(*to); v > old || math.IsNaN(old) {
		*to = wire.Num(v)
	}
}

func (a runoutAnswer) print(p *pairs, unit mesh.Unit) {
	if len(a.Surfaces) == 0 {
		p.add("runout", "no turned surface about this hinge")
		return
	}
	for _, d := range []struct {
		name string
		directionAnswer
	}{{"runout, radial", a.Radial}, {"runout, axial", a.Axial}} {
		if !math.IsNaN(float64(d.Circular)) {
			p.add(d.name, "%s circular, %s total", length(float64(d.Circular), unit), length(float64(d.Total), unit))
		}
	}
	if s := float64(a.Sagitta); !math.IsNaN(s) {
		p.add("facets alone hide", "%s", length(s, unit))
	}
}
