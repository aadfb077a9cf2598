package main

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

const numRays = 1_000_000

// rays compares building the hierarchy and closest-hit rays.
func (b *bench) rays() error {
	b.row("rays", "triangles", "build ms", "reference low ms", "times as fast", "Mrays/s", "reference Mrays/s", "ratio", "hits", "reference hits", "hits apart by")
	for _, name := range []string{"lathe_s", "lathe_m", "lathe_l"} {
		path := b.input(b.truth.Parts[name].File)
		var peer struct {
			Low   float64 `json:"build_ms_low"`
			Mrays float64 `json:"closest_mrays_s"`
			Hits  int
			MeanT float64 `json:"mean_t"`
		}
		if err := b.ask(&peer, "embree_rays", path, numRays, "--reps", 3); err != nil {
			return err
		}
		m, err := readMesh(path)
		if err != nil {
			return err
		}
		build := median(func() { mesh.Moved(m, mesh.Identity()).BVH() })
		copying := median(func() { mesh.Moved(m, mesh.Identity()) })
		origins, dirs := peerRays(m.Bounds())
		bvh := m.BVH()
		hits, sum := 0, 0.0
		shoot := func() {
			hits, sum = 0, 0
			for i := range origins {
				if _, d, ok := bvh.Ray(origins[i], dirs[i]); ok {
					hits++
					sum += d
				}
			}
		}
		rate := numRays / median(shoot) / 1e3
		b.row(name, len(m.Triangles()), build-copying, peer.Low, peer.Low/(build-copying), rate, peer.Mrays, rate/peer.Mrays,
			hits, peer.Hits, math.Abs(sum/float64(hits)-peer.MeanT)/peer.MeanT)
	}
	return nil
}

func readMesh(path string) (*mesh.Mesh, error) {
	m, err := meshio.Read(context.Background(), path, meshio.Options{})
	if err != nil {
		return nil, err
	}
	if len(m.Parts) != 1 {
		return nil, fmt.Errorf("%s has %d parts, not one", path, len(m.Parts))
	}
	return m.Parts[0].Mesh, nil
}

// splitMix is the generator the reference program draws its rays from
// (G. Steele, D. Lea and C. Flood, Fast Splittable Pseudorandom Number
// Generators, 2014).
type splitMix uint64

func (s *splitMix) uniform() float64 {
	*s += 0x9e3779b97f4a7c15
	z := uint64(*s)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64((z^z>>31)>>11) / (1 << 53)
}

// peerRays repeats the reference program's rays: from a sphere of twice the
// box's half diagonal to points in the box.
func peerRays(box r3.Box) (origins, dirs []r3.Vec) {
	g := splitMix(1)
	size := r3.Sub(box.Max, box.Min)
	mid := r3.Scale(0.5, r3.Add(box.Min, box.Max))
	for range numRays {
		z := 2*g.uniform() - 1
		f := 2 * math.Pi * g.uniform()
		s := math.Sqrt(1 - z*z)
		o := r3.Add(mid, r3.Scale(r3.Norm(size), r3.Vec{X: s * math.Cos(f), Y: s * math.Sin(f), Z: z}))
		var to r3.Vec
		to.X = box.Min.X + g.uniform()*size.X
		to.Y = box.Min.Y + g.uniform()*size.Y
		to.Z = box.Min.Z + g.uniform()*size.Z
		origins = append(origins, o)
		dirs = append(dirs, r3.Unit(r3.Sub(to, o)))
	}
	return origins, dirs
}
