# Pintle. `make run` and `make test` do everything on a fresh Debian or Ubuntu.

GO   ?= go
BIN  := bin/pintle
PKGS ?= ./...

.PHONY: run build test lint race fuzz bench deadcode shots deps clean

run: build ## open the window on the demo arm
	$(BIN) --demo tern-arm

build: deps ## build bin/pintle
	$(GO) build -o $(BIN) ./app

deps:
	@.ci/deps build

test: ## every test, the window's on a private display
	@.ci/deps test
	.ci/xvfb $(GO) test -timeout 30m $(PKGS)

lint: ## gofumpt, vet, staticcheck
	@.ci/deps build
	.ci/lint

race: ## the tests under the race detector
	@.ci/deps test
	.ci/xvfb $(GO) test -race -gcflags='github.com/g3n/engine/...=-d=checkptr=0' -timeout 60m $(PKGS)

fuzz: ## each fuzz target for FUZZTIME (default 30s)
	.ci/fuzz

bench: ## benchmarks with allocations, then ratios to the reference programs in PEERS
	.ci/bench

deadcode: ## functions that main never reaches
	$(GO) run golang.org/x/tools/cmd/deadcode -test ./...

shots: build ## pictures of the driven window, in out/shots
	@.ci/deps test
	.ci/shots

clean:
	rm -rf bin out
