# Every target works from this folder; .ci/run calls the same commands.
STATICCHECK = go run honnef.co/go/tools/cmd/staticcheck@v0.8.2
# Packages with goroutines.
CONCURRENT = ./geom/bvh ./geom/column ./geom/meshio ./report/pdf ./report/render
PLATFORMS = linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64

.PHONY: demo test check race golden bench proof cases cross

demo:
	go run ./cmd/pourproof demo

test:
	go test ./...

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

bench:
	go test -run '^$$' -bench . -benchmem ./geom/... ./checks/mold ./report/render

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
