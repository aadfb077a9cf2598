package offscreen

import (
	"sync"
	"testing"
)

func TestThreads(t *testing.T) {
	for name, th := range map[string]Thread{"own": NewOSThread(), "inline": Inline{}} {
		t.Run(name, func(t *testing.T) {
			n := 0
			for range 100 {
				if !th.Call(func() { n++ }) {
					t.Fatal("a call on an open thread was refused")
				}
			}
			if n != 100 {
				t.Errorf("%d calls ran, want 100", n)
			}
			func() {
				defer func() {
					if p := recover(); p != "broken" {
						t.Errorf("recovered %v, want the panic of the call", p)
					}
				}()
				th.Call(func() { panic("broken") })
			}()
			if !th.Call(func() { n++ }) || n != 101 {
				t.Error("the thread did not survive a panic")
			}
			th.Close()
			th.Close()
		})
	}
}

// Calls from many goroutines run one at a time, and none is lost when the
// thread is closed meanwhile.
func TestOSThreadSerialises(t *testing.T) {
	th := NewOSThread()
	var wg sync.WaitGroup
	inside, ran, refused := 0, 0, 0
	var mu sync.Mutex
	for range 50 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			ok := th.Call(func() {
				inside++
				if inside != 1 {
					t.Error("two calls at a time")
				}
				inside--
				ran++
			})
			if !ok {
				mu.Lock()
				refused++
				mu.Unlock()
			}
		}()
	}
	th.Close()
	wg.Wait()
	if ran+refused != 50 {
		t.Errorf("%d ran and %d were refused, want 50 in all", ran, refused)
	}
	if th.Call(func() {}) {
		t.Error("a closed thread took a call")
	}
}

func TestRunMain(t *testing.T) {
	var order []int
	RunMain(func(onMain func(func())) {
		order = append(order, 1)
		onMain(func() { order = append(order, 2) })
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a panic on the main thread did not reach the caller")
				}
			}()
			onMain(func() { panic("broken") })
		}()
		order = append(order, 3)
	})
	if len(order) != 3 || order[1] != 2 {
		t.Errorf("ran %v", order)
	}
}
