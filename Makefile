# `make demo` and `make test` bring a fresh machine from a clone to the finish.
#
# Everything is built in Cargo's development profile, which compiles our code quickly and the dependencies and
# the recogniser with full optimisation (see Cargo.toml and .cargo/config.toml). So the demo, the tests and the
# bench share one build of the recogniser's C++, which takes most of the time.

CARGO ?= cargo
FUZZ_SECONDS ?= 600
JOBS := $(patsubst %/job.toml,%,$(sort $(wildcard samples/*/job.toml)))

.PHONY: help demo test test-crash fuzz day test-live test-screen oracle bench bench-hear bench-circuit bench-diagnose bench-record bench-live stock-weights samples clean setup-demo setup-test setup-screen setup-bench setup-fuzz

help: ## Say what can be made
	@sed -n 's/^\([a-z-]*\):.*## /  make \1\t/p' Makefile | expand -t 24

demo: setup-demo ## Work the recorded jobs; leaves the conversations, the reports and the job database in demo/
	$(CARGO) build --locked
	rm -rf demo
	@set -e; for job in $(JOBS); do \
		echo "== $$job"; $(CARGO) run --quiet --locked -- replay "$$job" --out demo; \
	done
	@echo "demo/ holds:"; find demo -type f | sort | sed 's/^/  /'

test: setup-test ## Run every check
	@CARGO="$(CARGO)" scripts/test.sh

test-live: setup-test ## Work jobs by voice in a pretend kitchen, with microphones pulled out, noise and kills; takes half an hour
	LEADHAND_LIVE=all $(CARGO) test --locked --all-features --test live -- --nocapture --test-threads=1

test-screen: setup-screen ## Work a job on the screen in a browser, at three sizes; leaves pictures in target/screen
	$(CARGO) build --locked
	node scripts/screen.mjs

oracle: setup-test ## Compare every reading of every machine, state and fault with ngspice; takes minutes
	LEADHAND_ORACLE=all $(CARGO) test --locked --all-features --test all -- --nocapture ngspice

bench: bench-hear bench-circuit bench-diagnose bench-record ## All measurements

bench-hear: setup-bench ## Measure how well, how fast and how honestly is heard (CLIPS, SLOW, HOURS, REMARKS, PARTS: benches/hearing)
	$(CARGO) bench --locked --profile dev --bench hearing

bench-circuit: setup-test ## Measure how fast readings are predicted, against ngspice, numpy and scipy
	-@.venv/bin/pip install --quiet --disable-pip-version-check --retries 1 numpy==2.4.6 scipy==1.17.1
	$(CARGO) bench --locked --profile dev --bench circuits

bench-diagnose: setup-test ## Measure how fast belief and next check follow a reading, against pyAgrum and pgmpy
	-@.venv/bin/pip install --quiet --disable-pip-version-check --retries 1 numpy==2.4.6 pgmpy==1.1.2
	$(CARGO) bench --locked --profile dev --bench diagnosis

bench-live: setup-test ## Measure answers, memory and processor time by voice, in a pretend kitchen
	LEADHAND_LIVE=figures $(CARGO) test --locked --all-features --test live -- --nocapture figures

bench-record: setup-demo ## Measure how the job record bears growth; writes some gigabytes for a while
	$(CARGO) bench --locked --profile dev --bench record

test-crash: setup-test ## Kill a writing and a working program 500 times, and sync 10,000 jobs over a way that is cut
	LEADHAND_CRASH_ROUNDS=500 LEADHAND_SYNC_JOBS=5000 $(CARGO) test --locked --all-features -- --nocapture kill power share

# Without a sanitizer, which would want a nightly toolchain: nothing of ours is unsafe.
fuzz: setup-test setup-fuzz ## Give sessions ten million inputs at random, then more as the coverage leads (FUZZ_SECONDS): no panic, no growth, every record brings its session back
	LEADHAND_FUZZ_INPUTS=10000000 $(CARGO) test --locked --all-features --test all -- --nocapture fuzz
	PATH="$(CURDIR)/target/tools/bin:$$PATH" $(CARGO) fuzz run session --sanitizer none -- -max_total_time=$(FUZZ_SECONDS) \
		-max_len=1201 -len_control=0 -timeout=60 -rss_limit_mb=2048 -print_final_stats=1

day: setup-demo ## Work days of pretend jobs three ways: what waiting for a yes to a reading costs, and what it keeps out
	$(CARGO) build --locked
	$(CARGO) run --quiet --locked -- simulate --read-back --jobs 100 --hearing quiet
	$(CARGO) run --quiet --locked -- simulate --read-back --jobs 100 --hearing kitchen

stock-weights: ## Build stock speech weights, for comparison only
	python3 scripts/stock_weights.py --base --as-they-come target/bench

samples: ## Speak the recorded jobs anew from samples/*/job.toml; needs espeak-ng, flite and flac
	python3 scripts/make_samples.py $(JOBS)

clean: ## Remove all that was built, and the demo
	rm -rf target demo .venv fuzz/target fuzz/corpus fuzz/artifacts

setup-demo:
	@scripts/setup.sh demo

setup-test:
	@scripts/setup.sh test

setup-screen:
	@scripts/setup.sh screen

setup-fuzz:
	@scripts/setup.sh fuzz

setup-bench:
	@scripts/setup.sh bench
