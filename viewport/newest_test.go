package viewport

import (
	"slices"
	"testing"
)

func TestNewest(t *testing.T) {
	gate := make(chan struct{})
	var done []int
	n := newNewest(func(v int) {
		<-gate
		done = append(done, v)
	})
	n.put(0, true)
	gate <- struct{}{} // it is being worked on from here on
	n.wait()
	n.put(1, false)
	for i := 2; i < 10; i++ {
		n.put(i, false)
	}
	n.put(10, true)
	n.put(11, true)
	n.put(12, false)
	n.put(13, false)
	close(gate)
	n.wait()
	// 1 may have begun before 9 came; what is kept is never dropped.
	want := []int{0, 9, 10, 11, 13}
	if len(done) == len(want)+1 && done[1] < 9 {
		done = slices.Delete(done, 1, 2)
	}
	// 10 may take the place of 9, which still waited and was loose.
	if !slices.Equal(done, want) && !slices.Equal(done, []int{0, 10, 11, 13}) {
		t.Errorf("worked on %v, want %v", done, want)
	}
	n.put(14, false)
	n.wait()
	if done[len(done)-1] != 14 {
		t.Error("it does not begin anew after a rest")
	}
}
