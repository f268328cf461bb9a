# Targets for people; .ci/run is what a change must pass.

GO       ?= go
FUZZTIME ?= 60s
AXES     ?= 1000000
FINDINGS ?= 3000
SIZES    ?= 10000

export CGO_ENABLED = 0

.PHONY: all build dist test long race vet systems lint rule golden docs bench bench-million bench-all engine cluster fuzz reference fixes mutation clean

all: build vet lint test

build:
	$(GO) build -trimpath -o trammel ./cmd/trammel

# What is handed out, into dist/: programs for all systems, checksums, list of parts.
dist:
	.ci/dist

test:
	$(GO) test ./...

# The tests named TestLong…, which `go test ./...` leaves out and CI runs, and all of which
# the tests try a sample otherwise: every attack, every form of each command, hostile files
# as large as they may be, properties in full, pages at every width.
long:
	TRAMMEL_TESTS=all $(GO) test -count=1 -timeout 120m ./...

race:
	CGO_ENABLED=1 $(GO) test -race ./...

vet:
	$(GO) vet ./...

# Whether program and tests build for the other systems; none of them is run there.
systems:
	for system in windows darwin; do GOOS=$$system $(GO) vet ./... || exit 1; done

lint:
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "gofmt these files:" >&2; echo "$$unformatted" >&2; exit 1; fi
	$(GO) tool staticcheck ./...

# Writes the skeleton of a rule: make rule NAME=short-move
rule:
	$(GO) test ./rules -count=1 -run 'TestAll$$' -new=$(NAME) -update

# Renews everything that is kept in files and made by the program.
golden:
	$(GO) test ./rules -count=1 -run 'TestAll$$' -update
	$(GO) test ./spec -count=1 -run TestProblems -update
	$(GO) test ./cmd/internal/tableimport -count=1 -run TestGolden -update
	$(GO) test ./cmd/trammel -count=1 -run 'TestBakeryRuns|Document' -update
	$(MAKE) docs

# Writes the generated pages, the tables of checks and of mistakes, the table of
# arrows, and the output in examples.
docs:
	$(GO) test ./rules/mechanics -count=1 -run TestVerificationDoc -update
	$(GO) test ./rules -count=1 -run TestMistakesDoc -update
	$(GO) test ./docs -count=1 -run 'TestGenerated|TestArrows|TestExamples|TestDependencies' -update
	$(GO) test ./cmd/trammel -count=1 -run 'TestAttackPage|TestFormsPage' -update
	$(GO) test ./docs -count=1

# The table of docs/performance.md that has targets, as ratios in one run, for fleets of SIZES
# axes. 10,000 take some minutes; make bench SIZES='10000 100000' an hour of one processor, and
# bench-million several hours and 10 GB of disk.
bench:
	TRAMMEL_AXES='$(SIZES)' $(GO) test ./rules/judge/run -timeout 0 -run '^$$' -bench Table -benchtime 1x
	$(GO) test ./cmd/internal/editor -run '^$$' -bench Key/heaviest
	$(MAKE) engine

bench-million:
	$(MAKE) bench SIZES=1000000

# Every benchmark there is.
bench-all:
	$(GO) test -run '^$$' -bench . -benchmem ./...

# Six rules against a general policy engine: the answers, then the time.
engine:
	cd testdata/engine && $(GO) test -count=1 -v -bench .

# The manifest of docs/many-machines.md against the published types of its API.
cluster:
	cd testdata/cluster && $(GO) test -count=1 -v .

# Go fuzzes one target at a time, so each package lists its targets.
fuzz:
	@set -e; for pkg in $$($(GO) list ./...); do \
		for target in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
			echo "$$pkg $$target"; \
			$(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 1000x $$pkg; \
		done; \
	done

# The second calculation over many more random axes than in the tests.
reference:
	$(GO) test ./rules/mechanics -count=1 -timeout 0 -run TestReference -axes $(AXES) -seed $$(date +%s)

# Makes the fixes of many more findings in the text of their files than the tests do.
fixes:
	$(GO) test ./rules -count=1 -timeout 0 -v -run TestFixesAreTrue -fixes $(FINDINGS) -fixseed $$(date +%s)

# Puts small faults into the code and counts those the tests notice; see
# DEVELOPERS.md. Options by MUTATION, such as MUTATION='-file shaft.go'.
mutation:
	$(GO) test ./cmd/internal/mutation -count=1 -timeout 0 -v -run TestMeasure -args $(MUTATION) \
		rules/mechanics,cmd/internal/formula:TestNumbersPutIn,rules/judge:TestWholeSheet \
		rules,rules/judge,docs:TestGenerated rules/judge,rules,rules/judge/run rules/judge/run rules/sizing spec/unit

clean:
	rm -f trammel *.test *.prof *.out
	rm -rf dist
	$(GO) clean -testcache
