# make run and make test need nothing but Go and apt; they install the rest.

.DEFAULT_GOAL := run
.PHONY: run test bench lint golden setup build

GO ?= go
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2

setup:
	@.ci/setup.sh

build: setup
	@mkdir -p bin
	$(GO) build -o bin/pleach ./cmd/pleach

# Opens the demo; without a display it is checked and printed instead. The
# faults the demo is made to show are no error of the run.
run: build
	@plan=$$(bin/pleach demo) || exit; \
	if xdotool getdisplaygeometry >/dev/null 2>&1 || [ -n "$$WAYLAND_DISPLAY" ] || [ "$$(uname)" = Darwin ]; then \
		exec bin/pleach "$$plan"; \
	fi; \
	echo "There is no display: the demo is checked and printed instead."; \
	bin/pleach check "$$plan"; [ $$? -le 1 ] || exit 2; \
	bin/pleach print "$$plan" -o bin/demo.pdf || exit; \
	echo "The drawing of the demo: $$(pwd)/bin/demo.pdf"

# All of it runs whatever fails, and the count of the outside checks comes last.
test: setup
	@status=0; \
	unformatted=$$(gofmt -l cmd ui gis model assets testdata); \
	[ -z "$$unformatted" ] || { echo "gofmt -w is due for:"; echo "$$unformatted"; status=1; }; \
	$(GO) vet ./... || status=1; \
	$(GO) test -skip '^TestOutside' ./... || status=1; \
	.ci/outside.sh || status=1; \
	exit $$status

bench: setup
	$(GO) test -run '^$$' -bench . -benchmem ./...

lint: setup
	$(GO) vet ./...
	$(GO) run $(STATICCHECK) ./...

# Writes the expected drawings anew: read the diff before it is committed.
golden: setup
	PLEACH_GOLDEN=1 $(GO) test -count=1 $$(grep -rl --include='*_test.go' PLEACH_GOLDEN . | xargs -n1 dirname | sort -u)
