package toolbar

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
	"pintle/viewport"
)

func TestToolbarPicksAndShows(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	var picked []viewport.PickMode
	var did []string
	note := func(s string) func() { return func() { did = append(did, s) } }
	b := New(Callbacks{
		Mode: func(m viewport.PickMode) { picked = append(picked, m) },
		Wire: note("wire"), SeeThrough: note("see-through"), Isolate: note("isolate"), Along: note("along"),
	})
	win := test.NewTempWindow(t, b.Object())
	win.Resize(fyne.NewSize(900, 80))

	for _, m := range modes() {
		test.Tap(b.modes[m])
	}
	if !slices.Equal(picked, modes()) {
		t.Errorf("the buttons pick %v, want %v", picked, modes())
	}
	press := func() []string {
		did = nil
		test.Tap(b.wire)
		test.Tap(b.seeThrough)
		test.Tap(b.isolate)
		test.Tap(b.along)
		return did
	}
	b.Set(View{Mode: viewport.PickPatch})
	if got := press(); !slices.Equal(got, []string{"wire", "see-through"}) {
		t.Errorf("without a joint the toolbar did %q", got)
	}
	b.Set(View{Mode: viewport.PickPatch, CanIsolate: true})
	if got := press(); !slices.Equal(got, []string{"wire", "see-through", "isolate", "along"}) {
		t.Errorf("with a joint the toolbar did %q", got)
	}
}
