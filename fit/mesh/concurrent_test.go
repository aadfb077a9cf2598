package mesh_test

import (
	"slices"
	"sync"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh/meshtest"
)

// TestConcurrentQueries asks everything that is made at the first call from
// many goroutines at once; the race detector watches.
func TestConcurrentQueries(t *testing.T) {
	kept := meshtest.Torus(3, 1, 40, 20)
	m := meshtest.Triangulated(kept)
	want := meshtest.Triangulated(kept).Topology().Quads()
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			top := m.Topology()
			if !slices.Equal(top.Quads(), want) {
				t.Error("pairs differ")
			}
			if _, n := top.EvenPatches(0.6); n != 1 {
				t.Errorf("%d patches, want 1", n)
			}
			if _, _, ok := m.BVH().Ray(r3.Vec{X: -9, Y: 0.1, Z: 0.1}, r3.Vec{X: 1}); !ok {
				t.Error("the ray misses")
			}
		})
	}
	wg.Wait()
}
