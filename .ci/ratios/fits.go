package main

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// fitAnswer is what the reference solver answers: the parameters of one shape.
type fitAnswer struct {
	InitMS                            float64 `json:"init_ms"`
	SolveMS                           float64 `json:"solve_ms"`
	RMS                               float64
	Center, Point, Apex, Axis, Normal vec
	Radius, Major, Minor              float64
	HalfAngle                         float64 `json:"half_angle_deg"`
	D                                 float64
}

// fits compares least-squares fits: times, and parameters relative to the size
// of the shape.
func (b *bench) fits() error {
	b.row("least-squares fit", "ours ms", "reference solve ms", "with its start ms", "times as fast as solve", "as start and solve",
		"parameters differ", "from it at tolerance 1e-16", "RMS differs")
	for _, name := range sorted(b.truth.Points) {
		set := b.truth.Points[name]
		if len(name) > 6 && name[:6] == "cylout" {
			continue
		}
		points, err := readPoints(b.input(set.File))
		if err != nil {
			return err
		}
		var peer fitAnswer
		if err := b.ask(&peer, "ceres_fit", set.Kind, b.input(set.File), "--reps", 9); err != nil {
			return err
		}
		var fine fitAnswer // the usual tolerance, 1e-12 of the cost, leaves 1e-8 of an arc's parameters
		if err := b.ask(&fine, "ceres_fit", set.Kind, b.input(set.File), "--reps", 1, "--tol", 1e-16); err != nil {
			return err
		}
		kind := fit.Kind(set.Kind)
		d, err := fit.Fit(kind, points, fit.Options{})
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		ours := median(func() { _, err = fit.Fit(kind, points, fit.Options{}) })
		b.row(name, ours, peer.SolveMS, peer.InitMS+peer.SolveMS, peer.SolveMS/ours, (peer.InitMS+peer.SolveMS)/ours,
			peer.differ(d), fine.differ(d), math.Abs(d.RMS-peer.RMS)/peer.RMS)
	}
	return nil
}

// differ is the largest relative difference of the parameters.
func (p fitAnswer) differ(d fit.Datum) float64 {
	axis, at, size := p.Axis, p.Center, max(p.Radius, p.Major, 1)
	switch d.Kind {
	case fit.Circle, fit.Plane:
		axis = p.Normal
	case fit.Cone:
		at = p.Apex
	case fit.Cylinder, fit.Line:
		at = p.Point
	}
	worst := 0.0
	if a := axis.r3(); r3.Norm(a) > 0 && d.Axis != (r3.Vec{}) {
		worst = max(worst, math.Atan2(r3.Norm(r3.Cross(a, d.Axis)), math.Abs(r3.Dot(a, d.Axis))))
	}
	off := r3.Sub(d.Origin, at.r3())
	switch d.Kind {
	case fit.Cylinder, fit.Line:
		off = r3.Cross(off, d.Axis)
	case fit.Plane:
		worst = max(worst, math.Abs(math.Abs(r3.Dot(d.Origin, p.Normal.r3()))-math.Abs(p.D))/size)
		off = r3.Vec{}
	case fit.Cone:
		worst = max(worst, math.Abs(d.HalfAngle-p.HalfAngle*math.Pi/180))
	case fit.Torus:
		worst = max(worst, math.Abs(d.Radius-p.Major)/size, math.Abs(d.Radius2-p.Minor)/size)
	}
	if p.Radius > 0 {
		worst = max(worst, math.Abs(d.Radius-p.Radius)/size)
	}
	return max(worst, r3.Norm(off)/size)
}

func readPoints(path string) ([]r3.Vec, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("reading points: %w", err)
	}
	defer f.Close()
	var out []r3.Vec
	for s := bufio.NewScanner(f); s.Scan(); {
		var p r3.Vec
		if _, err := fmt.Sscan(s.Text(), &p.X, &p.Y, &p.Z); err != nil {
			return nil, fmt.Errorf("reading points of %s: %w", path, err)
		}
		out = append(out, p)
	}
	return out, nil
}

func sorted[T any](m map[string]T) []string {
	names := make([]string, 0, len(m))
	for k := range m {
		names = append(names, k)
	}
	slices.Sort(names)
	return names
}
