// Package job runs long work off the caller's thread: with a context to stop
// it, progress in [0, 1] and one result callback. It knows nothing of windows;
// a window hands in how a callback reaches its own thread.
//
// # What a job promises
//
//   - The result callback runs exactly once, after the last progress callback.
//     Callbacks of one job never run at the same time as one another. They must
//     not wait for their own job.
//   - Cancel wins: if the job was cancelled before its work returned, the
//     result is the zero value and context.Canceled, whatever the work
//     returned. If the work returned first, its own value and error stand and
//     the late Cancel does nothing.
//   - A panic wins over both: it becomes a *PanicError, never a crash and
//     never a quiet cancel.
//   - Close cancels everything and waits until all work has returned. From the
//     moment it is called no callback starts: results that still wait in the
//     window's queue are dropped.
package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"sync"
)

// Progress is told how far work has come: done in [0, 1] and what is being
// done now. Work may call it from any number of goroutines; a nil Progress is
// allowed wherever one is taken.
type Progress = func(done float64, what string)

// Work is long work. It must return soon (about 100 ms) after ctx is done and
// must not leave goroutines behind. progress is never nil.
type Work[T any] func(ctx context.Context, progress Progress) (T, error)

// Callbacks are what a job tells its owner. Each may be nil.
type Callbacks[T any] struct {
	Progress Progress       // rises only; calls that come too fast are merged
	Result   func(T, error) // see the package documentation for what err means
}

// PanicError is a panic of the work, with the stack it happened on.
type PanicError struct {
	Value any
	Stack []byte
}

// Error returns one line; the stack is for a log.
func (e *PanicError) Error() string { return fmt.Sprintf("internal error: %v", e.Value) }

// ErrNoResult is the error of work that ended its goroutine instead of
// returning (runtime.Goexit).
var ErrNoResult = errors.New("the work ended without a result")

// Runner starts jobs and delivers their callbacks. Make one with NewRunner; it
// is safe for concurrent use.
type Runner struct {
	post   func(func())
	ctx    context.Context
	stop   context.CancelFunc
	mu     sync.Mutex // guards closed against wg.Add
	closed bool
	work   sync.WaitGroup
}

// NewRunner returns a runner whose callbacks are handed to post, which brings
// them to the thread they belong on in the order given and must not wait for
// them. With a nil post they run on the job's own goroutine.
func NewRunner(post func(func())) *Runner {
	if post == nil {
		post = func(f func()) { f() }
	}
	ctx, stop := context.WithCancel(context.Background())
	return &Runner{post: post, ctx: ctx, stop: stop}
}

// Close cancels all jobs and waits for their work to return. Work started
// afterwards is not run and has no callback. Close must not be called from a
// callback of a runner with a nil post: it would wait for itself.
func (r *Runner) Close() {
	r.mu.Lock()
	r.closed = true
	r.mu.Unlock()
	r.stop()
	r.work.Wait()
}

// begin counts one piece of work in; it reports false once closed.
func (r *Runner) begin() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed {
		return false
	}
	r.work.Add(1)
	return true
}

// deliver runs f on the callbacks' thread unless the runner is closed by then.
func (r *Runner) deliver(f func()) {
	r.post(func() {
		r.mu.Lock()
		closed := r.closed
		r.mu.Unlock()
		if !closed {
			f()
		}
	})
}

// Job is one running piece of work.
type Job struct {
	name   string
	cancel context.CancelFunc
	ended  chan struct{}
	state  *sink
}

// Start runs work on its own goroutine and returns at once. name says what the
// job does, for a progress line ("reading arm.glb").
func Start[T any](r *Runner, name string, work Work[T], on Callbacks[T]) *Job {
	ctx, cancel := context.WithCancel(r.ctx)
	j := &Job{name: name, cancel: cancel, ended: make(chan struct{}), state: newSink(r, on.Progress)}
	if !r.begin() {
		cancel()
		close(j.ended)
		return j
	}
	go func() {
		defer r.work.Done()
		defer close(j.ended)
		defer cancel()
		// Deferred, with its error set beforehand, so that a Goexit in the work
		// still ends in a result.
		var value T
		err := ErrNoResult
		defer func() {
			j.state.finish(func() {
				if on.Result != nil {
					on.Result(value, err)
				}
			})
		}()
		value, err = run(ctx, work, j.state.report)
	}()
	return j
}

// Name returns the name given to Start.
func (j *Job) Name() string { return j.name }

// Cancel asks the work to stop and returns at once. It may be called more than
// once and from any goroutine.
func (j *Job) Cancel() { j.cancel() }

// Ended is closed when the work has returned and its result has been handed
// on for delivery.
func (j *Job) Ended() <-chan struct{} { return j.ended }

// Progress returns the newest progress, for a display that polls.
func (j *Job) Progress() (done float64, what string) { return j.state.newest() }

// run calls work and decides the outcome by the package's rules.
func run[T any](ctx context.Context, work Work[T], progress Progress) (value T, err error) {
	returned := false
	defer func() {
		var zero T
		if p := recover(); p != nil {
			value, err = zero, &PanicError{Value: p, Stack: debug.Stack()}
			return
		}
		if !returned {
			value, err = zero, ErrNoResult
			return
		}
		if ctx.Err() != nil {
			value, err = zero, context.Canceled
		}
	}()
	value, err = work(ctx, progress)
	returned = true
	return value, err
}

// sink merges a job's progress so that at most one call waits for delivery:
// however fast the work reports, the window's queue stays short.
type sink struct {
	runner *Runner
	on     Progress
	calls  sync.Mutex // held while a callback runs

	mu       sync.Mutex
	done     float64
	what     string
	waiting  bool
	finished bool
}

func newSink(r *Runner, on Progress) *sink { return &sink{runner: r, on: on} }

func (s *sink) newest() (float64, string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.done, s.what
}

// report takes progress from the work. It never falls back: stages that are
// reported out of order by parallel workers show as the farthest of them.
func (s *sink) report(done float64, what string) {
	s.mu.Lock()
	if s.finished || math.IsNaN(done) {
		s.mu.Unlock()
		return
	}
	s.done = max(s.done, min(done, 1))
	s.what = what
	post := s.on != nil && !s.waiting
	s.waiting = s.waiting || post
	s.mu.Unlock()
	if post {
		s.runner.deliver(s.tell)
	}
}

func (s *sink) tell() {
	s.calls.Lock()
	defer s.calls.Unlock()
	s.mu.Lock()
	done, what, finished := s.done, s.what, s.finished
	s.waiting = false
	s.mu.Unlock()
	if !finished {
		s.on(done, what)
	}
}

// finish ends progress and delivers the result.
func (s *sink) finish(result func()) {
	s.mu.Lock()
	s.finished = true
	s.mu.Unlock()
	s.runner.deliver(func() {
		s.calls.Lock()
		defer s.calls.Unlock()
		result()
	})
}

// Stage returns a Progress for one stage of a longer piece of work: its 0 to 1
// is from to to of the whole. It returns nil for a nil p.
func Stage(p Progress, from, to float64) Progress {
	if p == nil {
		return nil
	}
	return func(done float64, what string) {
		p(from+(to-from)*min(max(done, 0), 1), what)
	}
}
