package offscreen

import (
	"runtime"
	"sync"
)

// Thread runs functions one after the other in one place.
type Thread interface {
	// Call runs f and returns when it has returned. A panic in f is passed on
	// to the caller. It must not be called from within f: that would wait for
	// itself. After Close it does nothing and reports false.
	Call(f func()) bool
	// Close waits for the running call and ends the thread.
	Close()
}

// OSThread is a goroutine locked to an OS thread of its own, which is where an
// OpenGL context wants to live.
type OSThread struct {
	calls chan threadCall
	done  chan struct{}
	once  sync.Once
	mu    sync.RWMutex
	shut  bool
}

type threadCall struct {
	f        func()
	finished chan any // the recovered panic, or nil
}

// NewOSThread starts a thread; end it with Close.
func NewOSThread() *OSThread {
	t := &OSThread{calls: make(chan threadCall), done: make(chan struct{})}
	go t.loop()
	return t
}

func (t *OSThread) loop() {
	// Never unlocked: the OS thread ends with the goroutine, and with it
	// whatever the driver keeps in thread-local storage.
	runtime.LockOSThread()
	defer close(t.done)
	for c := range t.calls {
		c.finished <- run(c.f)
	}
}

// run calls f and returns what it panicked with.
func run(f func()) (panicked any) {
	defer func() { panicked = recover() }()
	f()
	return nil
}

// Call implements Thread.
func (t *OSThread) Call(f func()) bool {
	t.mu.RLock()
	if t.shut {
		t.mu.RUnlock()
		return false
	}
	c := threadCall{f: f, finished: make(chan any, 1)}
	t.calls <- c
	t.mu.RUnlock()
	if p := <-c.finished; p != nil {
		panic(p)
	}
	return true
}

// Close implements Thread. It may be called more than once.
func (t *OSThread) Close() {
	t.once.Do(func() {
		t.mu.Lock()
		t.shut = true
		t.mu.Unlock()
		close(t.calls)
	})
	<-t.done
}

// Inline is a Thread that runs every call on the caller: for tests, and where
// the caller already is on the right thread.
type Inline struct{}

// Call implements Thread.
func (Inline) Call(f func()) bool {
	f()
	return true
}

// Close implements Thread.
func (Inline) Close() {}

// RunMain runs work on a new goroutine and meanwhile serves, on the calling
// goroutine, the functions that work passes to onMain, which returns when the
// function has run. It returns when work does. Call it on the main goroutine
// of a program whose main goroutine is locked to the main thread.
func RunMain(work func(onMain func(func()))) {
	calls := make(chan threadCall)
	done := make(chan any, 1)
	onMain := func(f func()) {
		c := threadCall{f: f, finished: make(chan any, 1)}
		calls <- c
		if p := <-c.finished; p != nil {
			panic(p)
		}
	}
	go func() { done <- run(func() { work(onMain) }) }()
	for {
		select {
		case c := <-calls:
			c.finished <- run(c.f)
		case p := <-done:
			if p != nil {
				panic(p)
			}
			return
		}
	}
}
