package region

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Surface returns the boundary of the region within a radius of the centre: the
// cone of the rim, closed by the part of the sphere that the reach can point to,
// in rings no further apart than five degrees. It is watertight unless the whole
// sphere is free, which it then is. It returns an error if the radius is not
// positive and finite or the region has no extent.
func (b *Ball) Surface(radius float64) (*mesh.Mesh, error) {
	if !(radius > 0) || math.IsInf(radius, 0) {
		return nil, fmt.Errorf("surface of a free region: radius %g: give a positive length", radius)
	}
	widest, least := 0.0, math.Inf(1)
	for _, r := range b.Rim {
		widest, least = max(widest, r.Lean), min(least, r.Lean)
	}
	const ring = math.Pi / 36
	rings := max(int(math.Ceil(widest/ring)), 1)
	d := mesh.NewBuilder()
	at := func(azimuth, polar float64) int32 {
		return d.Vertex(r3.Add(b.Frame.Origin, r3.Scale(radius, b.Pointing(azimuth, polar))))
	}
	pole, centre := at(0, 0), d.Vertex(b.Frame.Origin)
	ids := make([][]int32, len(b.Rim))
	for i, r := range b.Rim {
		for k := range rings {
			ids[i] = append(ids[i], at(r.Azimuth, r.Lean*float64(k+1)/float64(rings)))
		}
	}
	whole := least >= math.Pi-1e-9
	for i := range ids {
		p, q := ids[i], ids[(i+1)%len(ids)]
		// Azimuths rise right-handed about the reach.
		d.Face(pole, p[0], q[0])
		for k := range rings - 1 {
			d.Face(p[k], p[k+1], q[k+1], q[k])
		}
		if !whole {
			d.Face(centre, q[rings-1], p[rings-1])
		}
	}
	m, _, err := d.Build(mesh.Options{Weld: 1e-9})
	if err != nil {
		return nil, fmt.Errorf("surface of a free region: %w", err)
	}
	return m, nil
}
