package kinematics

import (
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// genTree draws a forest of joints of all kinds in random order.
func genTree() *rapid.Generator[[]Joint] {
	return rapid.Custom(func(t *rapid.T) []Joint {
		parts := rapid.Permutation([]int{0, 1, 2, 3, 4, 5, 6, 7}).Draw(t, "parts")
		var joints []Joint
		for i, p := range parts {
			if rapid.IntRange(0, 4).Draw(t, "stands alone") == 0 {
				continue
			}
			j := genJoint(rapid.SampledFrom(Kinds()).Draw(t, "kind")).Draw(t, "joint")
			j.Name, j.Child = string(rune('a'+i)), p
			if i > 0 && rapid.IntRange(0, 4).Draw(t, "on the world") > 0 {
				j.Parent = parts[rapid.IntRange(0, i-1).Draw(t, "parent")]
			}
			joints = append(joints, j)
		}
		if len(joints) > 1 {
			joints = rapid.Permutation(joints).Draw(t, "order")
		}
		return joints
	})
}

func genValues(tree *Tree) *rapid.Generator[[]float64] {
	return rapid.SliceOfN(rapid.Float64Range(-4, 4), tree.NumValues(), tree.NumValues())
}

func mustTree(t failer, n int, joints []Joint) *Tree {
	t.Helper()
	tree, err := NewTree(n, joints)
	if err != nil {
		t.Fatalf("NewTree: %v", err)
	}
	return tree
}

// A planar arm of two links of length 1 (closed form): the end is at cos a +
// cos(a+b), sin a + sin(a+b).
func TestPlanarArmClosedForm(t *testing.T) {
	z := v3(0, 0, 1)
	tree := mustTree(t, 3, []Joint{
		{Name: "elbow", Kind: Revolute, Parent: 1, Child: 2, Frame: Frame{Origin: v3(1, 0, 0), Hinge: z, Reach: v3(1, 0, 0)}},
		{Name: "mount", Kind: Fixed, Parent: World, Child: 0, Frame: Frame{Hinge: z, Reach: v3(1, 0, 0)}},
		{Name: "shoulder", Kind: Revolute, Parent: 0, Child: 1, Frame: Frame{Hinge: z, Reach: v3(1, 0, 0)}},
	})
	if tree.NumValues() != 2 || tree.NumJoints() != 3 || tree.NumParts() != 3 {
		t.Fatalf("%d values, %d joints, %d parts", tree.NumValues(), tree.NumJoints(), tree.NumParts())
	}
	values := tree.Zero()
	set := func(name string, v float64) {
		first, n := tree.ValueIndex(tree.Find(name))
		if n != 1 {
			t.Fatalf("%s has %d values", name, n)
		}
		values[first] = v
	}
	a, b := 0.4, 1.1
	set("shoulder", a)
	set("elbow", b)
	if _, n := tree.ValueIndex(tree.Find("mount")); n != 0 {
		t.Errorf("a fixed joint has %d values", n)
	}
	motions := tree.FK(values)
	nearVec(t, "end", motions[2].Apply(v3(2, 0, 0)), v3(math.Cos(a)+math.Cos(a+b), math.Sin(a)+math.Sin(a+b), 0), 1e-15)
	nearVec(t, "elbow frame", tree.FrameAt(0, motions).Origin, v3(math.Cos(a), math.Sin(a), 0), 1e-15)
	nearVec(t, "shoulder frame", tree.FrameAt(2, motions).Reach, v3(1, 0, 0), 0)
	nearRows(t, "base", motions[0], Identity(), 0)
	nearRows(t, "one joint alone", tree.MotionOf(0, b), Rotation(Axis{Point: v3(1, 0, 0), Dir: z}, b), 0)
}

func TestTreeStructure(t *testing.T) {
	f := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	joint := func(name string, parent, child int) Joint {
		return Joint{Name: name, Kind: Revolute, Parent: parent, Child: child, Frame: f}
	}
	// 5 stands on nothing; the hand 2 carries two fingers.
	tree := mustTree(t, 6, []Joint{joint("finger 1", 2, 3), joint("wrist", 1, 2), joint("finger 2", 2, 4), joint("base", World, 1)})
	for _, c := range []struct {
		what      string
		got, want []int
	}{
		{"subtree of the wrist", tree.Subtree(1), []int{2, 3, 4}},
		{"subtree of the base", tree.Subtree(3), []int{1, 2, 3, 4}},
		{"subtree of a finger", tree.Subtree(2), []int{4}},
		{"chain of a finger", tree.Chain(4), []int{3, 1, 2}},
		{"chain of a loose part", tree.Chain(5), nil},
		{"next to the wrist", tree.Next(1), []int{0, 2}},
		{"next to a finger", tree.Next(0), nil},
		{"carriers", []int{tree.Carrier(0), tree.Carrier(2), tree.Carrier(3)}, []int{-1, 1, 0}},
		{"found", []int{tree.Find("finger 2"), tree.Find("toe")}, []int{2, -1}},
	} {
		if !slices.Equal(c.got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
	if got := tree.Joint(1); got.Name != "wrist" {
		t.Errorf("joint 1 is %q", got.Name)
	}
}

func TestClamp(t *testing.T) {
	f := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	limits := []Range{{-1, 2}}
	tree := mustTree(t, 4, []Joint{
		{Kind: Fixed, Parent: World, Child: 0, Frame: f},
		{Kind: Revolute, Parent: 0, Child: 1, Frame: f, Limits: limits},
		{Kind: Prismatic, Parent: 1, Child: 2, Frame: f},
		{Kind: Revolute, Parent: 2, Child: 3, Frame: f, Limits: []Range{{-1, 1}}},
	})
	limits[0].Upper = 100 // the tree keeps its own
	values := []float64{7, 50, math.NaN()}
	if n := tree.Clamp(values); n != 1 || values[0] != 2 || values[1] != 50 || !math.IsNaN(values[2]) {
		t.Errorf("clamped %d values to %v", n, values)
	}
}

func TestFKProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		joints := genTree().Draw(t, "joints")
		tree := mustTree(t, 8, joints)
		values := genValues(tree).Draw(t, "values")
		got := tree.FK(values)
		for p, x := range tree.FK(tree.Zero()) {
			if x != Identity() {
				t.Errorf("part %d is moved at value 0: %v", p, x)
			}
		}
		// The whole model moved by w: the parts' motions are seen from there.
		w := genMotion(5).Draw(t, "world")
		moved := slices.Clone(joints)
		for i := range moved {
			moved[i].Frame = w.Frame(moved[i].Frame)
		}
		for p, x := range mustTree(t, 8, moved).FK(values) {
			nearRows(t, "world motion", x, w.Mul(got[p]).Mul(w.Inverse()), 1e-11)
		}
		// The model in other units: slides and pitches scale, turns do not.
		k := rapid.Float64Range(1e-3, 1e3).Draw(t, "scale")
		scaled, scaledValues := slices.Clone(joints), slices.Clone(values)
		for i := range scaled {
			scaled[i].Frame.Origin = r3.Scale(k, scaled[i].Frame.Origin)
			scaled[i].Pitch *= k
			first, n := tree.ValueIndex(i)
			for f := range n {
				if !scaled[i].Kind.Freedom(f).Turns {
					scaledValues[first+f] *= k
				}
			}
		}
		for p, x := range mustTree(t, 8, scaled).FK(scaledValues) {
			want := got[p]
			want.T = r3.Scale(k, want.T)
			nearRows(t, "scale", x, want, 1e-11*max(1, k))
		}
		// A joint moves its subtree and nothing else.
		if len(joints) > 0 {
			j := rapid.IntRange(0, len(joints)-1).Draw(t, "joint")
			first, n := tree.ValueIndex(j)
			alone := tree.Zero()
			own := alone[first : first+n]
			copy(own, []float64{0.7, -0.4, 0.2})
			subtree := tree.Subtree(j)
			for p, x := range tree.FK(alone) {
				want := Identity()
				if slices.Contains(subtree, p) {
					want = tree.MotionOf(j, own...)
				}
				nearRows(t, "one joint alone", x, want, 0)
			}
			for f := range n {
				if joint, freedom := tree.ValueOf(first + f); joint != j || freedom != f {
					t.Errorf("value %d belongs to joint %d, freedom %d, want %d, %d", first+f, joint, freedom, j, f)
				}
			}
		}
	})
}

// Oracle: each part by the plain 4x4 matrices of its own chain.
func TestFKAgainstMatrices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		joints := genTree().Draw(t, "joints")
		tree := mustTree(t, 8, joints)
		values := genValues(tree).Draw(t, "values")
		got := tree.FK(values)
		for p := range got {
			m := mat.NewDense(4, 4, []float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1})
			for _, j := range tree.Chain(p) {
				first, n := tree.ValueIndex(j)
				var product mat.Dense
				product.Mul(m, dense(matrixOf(&joints[j], values[first:first+n])))
				m.Copy(&product)
			}
			nearRows(t, "chain of exponentials", got[p], fromDense(m), 1e-11)
		}
	})
}

func TestTreeBadInput(t *testing.T) {
	f := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	joint := func(name string, parent, child int) Joint {
		return Joint{Name: name, Kind: Revolute, Parent: parent, Child: child, Frame: f}
	}
	for _, c := range []struct {
		name   string
		joints []Joint
		want   string
	}{
		{"two parents", []Joint{joint("a", 0, 2), joint("b", 1, 2)}, `part 2 is the child of joint "a" and of joint "b": a part hangs on one joint, remove one of them`},
		{"two without names", []Joint{joint("", 0, 2), joint("", 1, 2)}, "part 2 is the child of joint 0 (without name) and of joint 1 (without name): a part hangs on one joint, remove one of them"},
		{"ring", []Joint{joint("z", World, 3), joint("a", 2, 0), joint("b", 0, 1), joint("c", 1, 2)}, `joints form a ring (joint "a" -> joint "b" -> joint "c" -> joint "a"): break it at one of them`},
		{"itself", []Joint{joint("a", 1, 1)}, `joint "a": it joins part 1 to itself: choose another parent`},
		{"no such child", []Joint{joint("a", 1, 9)}, `joint "a": it joins part 9 to part 1, but the model has parts 0 to 3: choose parts of this model (the parent may be the world, -1)`},
		{"world as child", []Joint{joint("a", 1, World)}, `joint "a": it joins part -1 to part 1, but the model has parts 0 to 3: choose parts of this model (the parent may be the world, -1)`},
		{"no such parent", []Joint{joint("a", -2, 1)}, `joint "a": it joins part 1 to part -2, but the model has parts 0 to 3: choose parts of this model (the parent may be the world, -1)`},
		{"no frame", []Joint{{Name: "a", Kind: Fixed, Parent: 0, Child: 1}}, `joint "a": its frame is wrong: not a joint frame: hinge is off unit length by 1, more than 1e-09: build the frame from its datum again`},
		{"no kind", []Joint{{Parent: 0, Child: 1, Frame: f}}, `joint 0 (without name): kind "" is not known: give one of [fixed revolute prismatic screw cylindric universal spherical planar]`},
	} {
		t.Run(c.name, func(t *testing.T) {
			tree, err := NewTree(4, c.joints)
			wantText(t, err, c.want)
			if tree != nil {
				t.Error("a tree beside the error")
			}
		})
	}
	var ring *CycleError
	if _, err := NewTree(2, []Joint{joint("a", 0, 1), joint("b", 1, 0)}); !errors.As(err, &ring) {
		t.Errorf("ring of two: %v", err)
	}
	if tree := mustTree(t, 0, nil); len(tree.FK(nil)) != 0 {
		t.Error("an empty model has motions")
	}
	tree := mustTree(t, 2, []Joint{joint("a", 0, 1)})
	for _, values := range [][]float64{nil, {1, 2}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("FK with %d values does not panic", len(values))
				}
			}()
			tree.FK(values)
		}()
	}
	// A NaN value must not reach parts that its joint does not move.
	if x := tree.FK([]float64{math.NaN()})[0]; x != Identity() {
		t.Errorf("NaN reached part 0: %v", x)
	}
}

// chainOf returns n revolute joints in a row.
func chainOf(n int) []Joint {
	joints := make([]Joint, n)
	for i := range joints {
		d := unit(v3(1, float64(i%3), 2))
		joints[i] = Joint{
			Kind: Revolute, Parent: i - 1, Child: i,
			Frame: Frame{Origin: v3(float64(i), 0, 0), Hinge: d, Reach: Perpendicular(d)},
		}
	}
	return joints
}

func TestFKAllocatesNothing(t *testing.T) {
	tree := mustTree(t, 20, chainOf(20))
	values, motions := tree.Zero(), make([]Transform, 20)
	if n := testing.AllocsPerRun(100, func() { tree.FKTo(motions, values) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkFK20(b *testing.B) {
	b.ReportAllocs()
	tree, err := NewTree(20, chainOf(20))
	if err != nil {
		b.Fatal(err)
	}
	values, motions := tree.Zero(), make([]Transform, 20)
	for i := range values {
		values[i] = 0.1 * float64(i)
	}
	for b.Loop() {
		tree.FKTo(motions, values)
	}
}

func BenchmarkNewTree20(b *testing.B) {
	b.ReportAllocs()
	joints := chainOf(20)
	for b.Loop() {
		if _, err := NewTree(20, joints); err != nil {
			b.Fatal(err)
		}
	}
}
