package main

import (
	"context"
	"fmt"
	"math"

	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// hinge compares the first contact both ways with the reference library, which
// steps at 0.1 degrees and bisects, and with the closed form.
func (b *bench) hinge() error {
	b.row("hinge, both ways", "triangles", "build ms", "reference ms", "free range ms", "stepping ms", "times as fast", "error rad +", "error rad -", "stepping's error +", "stepping's error -")
	type way struct {
		Step struct {
			Contact   bool
			Angle, MS float64
		}
	}
	for _, name := range sorted(b.truth.Hinge) {
		h := b.truth.Hinge[name]
		var peer struct {
			Build       float64 `json:"build_ms"`
			Plus, Minus way
		}
		args := []any{b.input(h.Static), b.input(h.Moving)}
		for _, x := range append(h.Origin[:], h.Axis[:]...) {
			args = append(args, x)
		}
		args = append(args, h.Lower, h.Upper, "--no-ca", "--no-advance", "--reps", 1)
		if err := b.ask(&peer, "fcl_hinge", args...); err != nil {
			return err
		}
		scene, build, n, err := b.scene(h.Static, h.Moving, kinematics.Axis{Point: h.Origin.r3(), Dir: h.Axis.r3()})
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		limit := kinematics.Range{Lower: h.Lower * math.Pi / 180, Upper: h.Upper * math.Pi / 180}
		var res contact.Result
		ours := median(func() { res, err = scene.FreeRange(context.Background(), limit) })
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		peers := func(w way, truth float64) string {
			if !w.Step.Contact {
				return "missed"
			}
			return fmt.Sprintf("%.1e", (w.Step.Angle-truth)*math.Pi/180)
		}
		stepping := peer.Plus.Step.MS + peer.Minus.Step.MS
		b.row(name, n, build, peer.Build, ours, stepping, stepping/ours, off(res.Upper, h.Plus), off(res.Lower, h.Minus),
			peers(peer.Plus, h.Plus), peers(peer.Minus, h.Minus))
	}
	return nil
}

func off(e *contact.Event, degrees float64) string {
	if e == nil {
		return "missed"
	}
	return fmt.Sprintf("%.1e", e.Value-degrees*math.Pi/180)
}

// scene loads a case and tells how long its preparation takes, copying and
// hierarchies included.
func (b *bench) scene(still, moving string, axis kinematics.Axis) (s *contact.Scene, ms float64, n int, err error) {
	a, err := readMesh(b.input(moving))
	if err != nil {
		return nil, 0, 0, err
	}
	c, err := readMesh(b.input(still))
	if err != nil {
		return nil, 0, 0, err
	}
	fresh := func(m *mesh.Mesh) []contact.Body { // without what meshes remember
		return []contact.Body{{Name: "part", Mesh: mesh.Moved(m, mesh.Identity())}}
	}
	ms = median(func() {
		s, err = contact.NewScene(context.Background(), fresh(a), fresh(c), contact.Hinge(axis), contact.Options{})
	})
	return s, ms, len(a.Triangles()) + len(c.Triangles()), err
}
