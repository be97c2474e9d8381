# Every target works from this folder; .ci/run calls the same commands.
STATICCHECK = go run honnef.co/go/tools/cmd/staticcheck@v0.8.2
# Packages with goroutines.
CONCURRENT = ./geom/bvh ./geom/column ./geom/meshio ./report/pdf ./report/render
BENCHSTAT = go run golang.org/x/perf/cmd/benchstat@v0.0.0-20260908200009-22c9c6c9d4da
BENCHED = ./geom/... ./checks/mold ./report/render ./report/pdf ./cmd/pourproof
BENCH = .
COUNT = 1
SHORT =
PLATFORMS = linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64

.PHONY: demo test check race golden bench proof cases cross

demo:
	go run ./cmd/pourproof demo

test:
	go test -timeout 20m ./...

check:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; exit 1; }
	go vet ./...
	$(STATICCHECK) ./...
	$(MAKE) race

# The detector slows a pour down more than tenfold: of the molds, those tests that
# run goroutines.
race:
	go test -race -short $(CONCURRENT)
	go test -race -short -run 'TestThreads|TestCases|TestSearch' ./checks/mold

# Rewrites what the screen is held against; read the difference before you commit it.
golden:
	go test ./cmd/pourproof -run TestScreen -update

# Without the 4M facets: make bench SHORT=-short; one kernel six times, enough for
# benchstat to tell a change from noise: make bench BENCH=Cast COUNT=6.
# The last run stays in .bench/last.txt, and the next one is compared with it.
bench:
	@mkdir -p .bench
	go test -run '^$$' -bench '$(BENCH)' -count $(COUNT) $(SHORT) -timeout 2h $(BENCHED) > .bench/now.txt || { cat .bench/now.txt; exit 1; }
	@cat .bench/now.txt
	@awk -f .ci/growth.awk .bench/now.txt
	@[ ! -f .bench/last.txt ] || $(BENCHSTAT) .bench/last.txt .bench/now.txt
	@mv .bench/now.txt .bench/last.txt

# Compares with sources outside the program and rewrites testdata/PROOF.md.
proof:
	go test ./testdata/proof -count=1 -timeout 20m -v -write

cases:
	testdata/build.sh

cross:
	@for p in $(PLATFORMS); do \
		echo $$p; \
		CGO_ENABLED=0 GOOS=$${p%/*} GOARCH=$${p#*/} go build -trimpath -o /dev/null ./cmd/pourproof || exit 1; \
	done
