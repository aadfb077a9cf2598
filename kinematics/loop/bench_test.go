package loop

import (
	"context"
	"math"
	"testing"

	"pintle/kinematics"
)

func BenchmarkDragDrawbridge(b *testing.B) {
	foot, head := bridgeEnds(deg(37))
	l := mechanism(b, 3, bridge(foot, head), 1, []int{0}, Options{})
	values, drive := l.Zero(), []float64{0}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		drive[0] = 0.4 * math.Sin(float64(i)/20) // up to 1.1 degrees a step
		if _, err := l.SolveTo(context.Background(), values, values, drive); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSolveFourBarTurn(b *testing.B) {
	l := mechanism(b, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	dst, zero, drive := l.Zero(), l.Zero(), []float64{2 * math.Pi}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.SolveTo(context.Background(), dst, zero, drive); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReach(b *testing.B) {
	l := mechanism(b, 3, bars(norton, deg(40), Open), 1, []int{2}, Options{})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Reach(context.Background(), l.Zero(), 0); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDragHexapod(b *testing.B) {
	joints := hexapod(kinematics.Universal)
	tree, err := kinematics.NewTree(13, joints[:len(joints)-5])
	if err != nil {
		b.Fatal(err)
	}
	l, err := New(tree, Close(joints[len(joints)-5:]...), []int{2, 8, 11, 14, 17, 20}, Options{})
	if err != nil {
		b.Fatal(err)
	}
	values, drive := l.Zero(), make([]float64, 6)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		for k := range drive {
			drive[k] = 0.1 * math.Sin(float64(i)/20+float64(k))
		}
		if _, err := l.SolveTo(context.Background(), values, values, drive); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNewDrawbridge(b *testing.B) {
	foot, head := bridgeEnds(deg(37))
	b.ReportAllocs()
	for b.Loop() {
		mechanism(b, 3, bridge(foot, head), 1, nil, Options{})
	}
}

func BenchmarkNewHexapod(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		mechanism(b, 13, hexapod(kinematics.Universal), 5, nil, Options{})
	}
}
