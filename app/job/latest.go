package job

import (
	"context"
	"sync"
)

// Latest runs work of which only the newest matters: recomputing while a
// slider moves, say. At most one piece of work runs at a time. Submitting
// cancels the running one and replaces the one that waits; the callbacks of
// work that was replaced or dropped never run, not even those already on
// their way when the newer work was submitted. It is safe for concurrent use.
type Latest[T any] struct {
	runner *Runner

	mu      sync.Mutex
	newest  uint64 // number of the newest submission
	running bool
	stop    context.CancelFunc // of the running work
	next    *submission[T]     // waits for the running work to return
}

type submission[T any] struct {
	number uint64
	work   Work[T]
	on     Callbacks[T]
}

// NewLatest returns a worker whose work and callbacks belong to r: closing r
// ends it.
func NewLatest[T any](r *Runner) *Latest[T] { return &Latest[T]{runner: r} }

// Submit makes work the newest. It returns at once; the goroutine it may start
// ends when nothing is left to do.
func (l *Latest[T]) Submit(work Work[T], on Callbacks[T]) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.newest++
	l.next = &submission[T]{number: l.newest, work: work, on: on}
	if l.running {
		l.stop()
		return
	}
	if !l.runner.begin() {
		l.next = nil
		return
	}
	l.running = true
	l.stop = func() {}
	go l.loop()
}

// Drop cancels the running work and forgets the waiting one; neither calls
// back.
func (l *Latest[T]) Drop() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.newest++
	l.next = nil
	if l.running {
		l.stop()
	}
}

// Busy reports whether work runs or waits.
func (l *Latest[T]) Busy() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.running
}

func (l *Latest[T]) loop() {
	defer l.runner.work.Done()
	for {
		ctx, cancel := context.WithCancel(l.runner.ctx)
		l.mu.Lock()
		s := l.next
		l.next = nil
		l.stop = cancel
		l.running = s != nil
		l.mu.Unlock()
		if s == nil {
			cancel()
			return
		}
		l.do(ctx, s)
		cancel()
	}
}

// do runs one submission to its end. Its own goroutine keeps a Goexit in the
// work from ending the loop.
func (l *Latest[T]) do(ctx context.Context, s *submission[T]) {
	state := newSink(l.runner, l.ifNewest(s))
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		var value T
		err := ErrNoResult
		defer func() {
			state.finish(func() {
				if s.on.Result != nil && l.isNewest(s) {
					s.on.Result(value, err)
				}
			})
		}()
		value, err = run(ctx, s.work, state.report)
	}()
	<-ended
}

func (l *Latest[T]) ifNewest(s *submission[T]) Progress {
	if s.on.Progress == nil {
		return nil
	}
	return func(done float64, what string) {
		if l.isNewest(s) {
			s.on.Progress(done, what)
		}
	}
}

func (l *Latest[T]) isNewest(s *submission[T]) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.newest == s.number
}
