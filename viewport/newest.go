package viewport

import "sync"

// newest works off values on a goroutine of its own that lives only while
// there are any. A value still waiting when a newer one comes is dropped,
// unless it must be kept.
type newest[T any] struct {
	work func(T)

	mu      sync.Mutex
	queue   []T
	loose   bool // the last of queue may be replaced
	running bool
	idle    *sync.Cond
}

func newNewest[T any](work func(T)) *newest[T] {
	n := &newest[T]{work: work}
	n.idle = sync.NewCond(&n.mu)
	return n
}

// put asks for v to be worked on. If keep is false a newer value may take its
// place before its turn comes.
func (n *newest[T]) put(v T, keep bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if k := len(n.queue); k > 0 && n.loose {
		n.queue[k-1] = v
	} else {
		n.queue = append(n.queue, v)
	}
	n.loose = !keep
	if !n.running {
		n.running = true
		go n.loop()
	}
}

func (n *newest[T]) loop() {
	for {
		n.mu.Lock()
		if len(n.queue) == 0 {
			n.running, n.queue = false, nil
			n.idle.Broadcast()
			n.mu.Unlock()
			return
		}
		v := n.queue[0]
		n.queue = n.queue[1:]
		n.mu.Unlock()
		n.work(v)
	}
}

// wait returns when everything asked for is done.
func (n *newest[T]) wait() {
	n.mu.Lock()
	defer n.mu.Unlock()
	for n.running {
		n.idle.Wait()
	}
}
