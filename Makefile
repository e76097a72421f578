# twolimb: `make help` lists the targets.

PREFIX ?= /usr/local
LIBDIR ?= $(PREFIX)/lib
DOCDIR ?= $(PREFIX)/share/doc/twolimb
DESTDIR ?=
CC = gcc
BUILD = build
OPT = -O2 -ftree-vectorize -fno-math-errno -g
WARN = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Werror
PACKAGES = libjpeg libpng libtiff-4 libheif lcms2 libexif gsl erfa cairo libcjson
LIBS = -lgif -lpthread -lm # libgif has no pkg-config file
VERSION = $(shell sed -n 's/.*define TL_VERSION "\(.*\)"/\1/p' include/twolimb/base.h)

CFLAGS = -std=c17 -D_POSIX_C_SOURCE=200809L $(OPT) $(WARN) $(SANITIZE) -Iinclude -Isrc -I$(BUILD) \
         $(shell pkg-config --cflags $(PACKAGES) 2>/dev/null)
LDLIBS = $(shell pkg-config --libs $(PACKAGES) 2>/dev/null) $(LIBS)

LIB = $(BUILD)/libtwolimb.a
PROGRAM = $(BUILD)/twolimb
LIB_SRC = $(filter-out src/main.c src/command_%.c,$(wildcard src/*.c src/*/*.c))
PROGRAM_SRC = src/main.c $(wildcard src/command_*.c)
TEST_SRC = $(wildcard tests/test_*.c)
# The comparison with DE431 needs libswe-dev and swe-basic-data, which nothing else does.
LIBSWE = $(wildcard /usr/include/swephexp.h)
TOOL_SRC = $(filter-out $(if $(LIBSWE),,tests/tool_sky_accuracy.c),$(wildcard tests/tool_*.c))
object = $(patsubst %.c,$(BUILD)/%.o,$(1))
TESTS = $(patsubst tests/%.c,$(BUILD)/tests/%,$(TEST_SRC))
CHECKS = $(wildcard tests/check_*.py tests/check_*.bash)
TOOLS = $(patsubst tests/%.c,$(BUILD)/tests/%,$(TOOL_SRC))

.PHONY: all help setup demo check check-programs check-pages install uninstall deb sanitize bench accuracy compare tables clean
.SECONDARY:

all: $(PROGRAM) ## build the library and the program (libraries must be there: make setup)

help: ## list the targets
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /\1\t/' | expand -t 16

setup: ## install the Debian packages that are missing
	@.ci/setup

demo: setup ## install what is missing, build, analyse the demo pictures, say where the page is
	@echo "Building (a minute or two) ..."
	@$(MAKE) -s --no-print-directory all
	@echo "Analysing the demo pictures ..."
	@$(PROGRAM) analyse fixtures/demo $$(cat fixtures/demo/options) -o $(BUILD)/demo || test $$? -eq 1

check: setup ## the same set-up, then all tests
	@$(MAKE) --no-print-directory all test-programs
	@tests/run $(CHECKS) $(TESTS)

check-programs: all test-programs ## the tests that are programs alone, as CC, BUILD and OPT have it
	@LSAN_OPTIONS=suppressions=$(CURDIR)/tests/leaks.supp:print_suppressions=0 TWOLIMB_BUILD=$(BUILD) tests/run $(TESTS)

check-pages: setup ## the pages in a browser alone
	@$(MAKE) --no-print-directory all
	@tests/run tests/check_pages.py

.PHONY: test-programs
test-programs: $(TESTS) $(TOOLS)

# What is installed, as FILE:PLACE; those of build/install are filled in when it is.
INSTALLED = $(PROGRAM):$(PREFIX)/bin/twolimb \
    $(LIB):$(LIBDIR)/libtwolimb.a \
    $(foreach f,$(wildcard include/twolimb/*.h),$f:$(PREFIX)/$f) \
    $(BUILD)/install/twolimb.pc:$(LIBDIR)/pkgconfig/twolimb.pc \
    $(BUILD)/install/twolimb.1:$(PREFIX)/share/man/man1/twolimb.1 \
    src/install/twolimb.bash:$(PREFIX)/share/bash-completion/completions/twolimb \
    $(foreach f,README.md DEVELOPERS.md $(wildcard docs/*),$f:$(DOCDIR)/$f)
# The folders among these that are ours alone, the inner ones first.
INSTALLED_FOLDERS = $(PREFIX)/include/twolimb $(DOCDIR)/docs $(DOCDIR)

install: all fill-in ## install program, library, manual and all else below PREFIX (and DESTDIR)
	@for f in $(INSTALLED); do \
	    to="$(DESTDIR)$${f#*:}"; case $$f in */bin/twolimb) mode=755 ;; *) mode=644 ;; esac; \
	    install -v -D -m $$mode "$${f%%:*}" "$$to" || exit 1; done

uninstall: ## take away what install put there, with the same PREFIX and DESTDIR
	@for f in $(INSTALLED); do rm -f -v "$(DESTDIR)$${f#*:}" || exit 1; done
	@for d in $(INSTALLED_FOLDERS); do \
	    test ! -d "$(DESTDIR)$$d" || rmdir --ignore-fail-on-non-empty "$(DESTDIR)$$d"; done

.PHONY: fill-in
fill-in:
	@mkdir -p $(BUILD)/install
	@for f in twolimb.pc twolimb.1; do sed -e 's|@PREFIX@|$(PREFIX)|; s|@LIBDIR@|$(LIBDIR)|' \
	    -e 's|@DOCDIR@|$(DOCDIR)|; s|@VERSION@|$(VERSION)|' \
	    -e 's|@REQUIRES@|$(PACKAGES)|; s|@LIBS@|$(strip $(LIBS))|' \
	    src/install/$$f.in >$(BUILD)/install/$$f || exit 1; done

deb: setup ## make Debian packages of program and library into build/deb
	@.ci/setup .ci/packages-deb
	+@src/install/deb $(BUILD)/deb
	@lintian --fail-on error,warning $(BUILD)/deb/*.deb
	@ls $(BUILD)/deb/*.deb

sanitize: setup ## all tests under AddressSanitizer and UndefinedBehaviorSanitizer
	@$(MAKE) --no-print-directory BUILD=$(BUILD)/sanitize OPT='-O1 -g -fno-omit-frame-pointer' \
	    SANITIZE='-fsanitize=address,undefined -fno-sanitize-recover=all' check-programs

bench: setup ## time of an analysis over that of a plain decode; time and memory of a report
	@$(MAKE) --no-print-directory all test-programs
	@for set in grey colour; do test -d $(BUILD)/bench-$$set || \
	    $(PROGRAM) simulate fixtures/bench/$$set.json $(BUILD)/bench-$$set; done
	@$(BUILD)/tests/tool_bench $(BUILD)/bench-grey $(BUILD)/bench-colour fixtures/demo
	@.ci/setup .ci/packages-compare
	@/usr/bin/python3 tests/bench_general.py $(BUILD)/bench-grey $(BUILD)/bench-colour
	@$(BUILD)/tests/tool_sky_speed $(PROGRAM)
	@test -d $(BUILD)/bench || $(BUILD)/tests/tool_enlarge fixtures/demo $(BUILD)/bench 3
	@$(BUILD)/tests/tool_report_speed $(BUILD)/bench 62 -6.8 $(BUILD)/bench-report
	@$(BUILD)/tests/tool_report_speed fixtures/demo 62 -6.8 $(BUILD)/bench-report 500

accuracy: setup ## errors: sky against JPL ephemerides, simulated frames and series against their truth
	@$(MAKE) --no-print-directory all test-programs
	@$(if $(LIBSWE),$(BUILD)/tests/tool_sky_accuracy,\
	    echo "Sky against DE431: left out; it needs the Debian packages libswe-dev and swe-basic-data.")
	@$(BUILD)/tests/tool_accuracy --frames $(BUILD)/frames.csv
	@$(BUILD)/tests/tool_track_accuracy $(BUILD)/frames.csv
	@$(BUILD)/tests/tool_spot_accuracy

compare: setup ## what general-purpose libraries find in the simulated frames, beside twolimb
	@.ci/setup .ci/packages-compare
	@$(MAKE) --no-print-directory all test-programs
	@$(BUILD)/tests/tool_accuracy --keep $(BUILD)/scenes --frames $(BUILD)/frames.csv --circles-only \
	    >/dev/null
	@/usr/bin/python3 tests/compare_general.py $(BUILD)/scenes $(BUILD)/frames.csv

tables: ## make the Moon's coefficient table again (needs node and npm)
	src/sky/tables/make_tables

clean: ## remove everything built
	rm -rf $(BUILD)

$(LIB): $(call object,$(LIB_SRC))
	@rm -f $@
	ar rcs $@ $^

$(PROGRAM): $(call object,$(PROGRAM_SRC)) $(LIB)
	$(CC) $(SANITIZE) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/tests/tool_accuracy: $(call object,$(wildcard tests/accuracy_*.c))
$(BUILD)/tests/tool_track_accuracy: $(call object,$(wildcard tests/track_accuracy_*.c))
$(BUILD)/tests/tool_spot_accuracy $(BUILD)/tests/test_spot_accuracy: $(call object,$(wildcard tests/spot_accuracy_*.c))
$(BUILD)/tests/tool_fuzz_seeds: $(call object,$(wildcard tests/fuzz_seeds_*.c))
$(BUILD)/tests/tool_sky_accuracy: LDLIBS += -lswe -ldl
# In these allocations can be made to fail, or are watched.
WRAPPING = $(BUILD)/tests/test_report_gif $(BUILD)/tests/test_frame_limits $(filter $(BUILD)/tests/test_memory_%,$(TESTS))
WRAPPED = malloc calloc realloc gsl_matrix_alloc gsl_matrix_calloc gsl_vector_alloc gsl_vector_calloc \
    gsl_rng_alloc gsl_min_fminimizer_alloc gsl_root_fsolver_alloc gsl_spline_alloc \
    gsl_multifit_linear_alloc gsl_multifit_nlinear_alloc \
    strdup realpath fopen open_memstream opendir getline
$(BUILD)/tests/test_report_gif $(BUILD)/tests/test_frame_limits: WRAPPED = malloc calloc realloc
$(WRAPPING): LDLIBS += $(WRAPPED:%=-Wl,--wrap=%)
$(BUILD)/tests/tool_bench: $(BUILD)/src/command_memory.o
$(BUILD)/tests/test_memory_commands: $(call object,$(filter-out src/main.c,$(PROGRAM_SRC)))

$(BUILD)/tests/%: $(BUILD)/tests/%.o $(LIB)
	$(CC) $(SANITIZE) $(LDFLAGS) -o $@ $(filter %.o,$^) $(LIB) $(LDLIBS) -lcmocka

# Fuzzing: the library and one program a format, with the fuzzer of clang (tests/fuzz).
SECONDS = 60
FUZZ_SRC = $(wildcard tests/fuzz/fuzz_*.c)
FUZZERS = $(patsubst tests/fuzz/%.c,$(BUILD)/%,$(FUZZ_SRC))

.PHONY: fuzz fuzz-run
fuzz: ## feed broken files to every reader, SECONDS=n each (60)
	@.ci/setup
	@.ci/setup .ci/packages-fuzz
	@$(MAKE) --no-print-directory BUILD=$(BUILD)/fuzz CC="$(FUZZ_CC)" OPT='-O2 -g -fno-omit-frame-pointer' \
	    SANITIZE='-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all' \
	    NUMERIC=-fno-sanitize-coverage=trace-cmp fuzz-run
FUZZ_CC = clang
fuzz-run: $(FUZZERS)
	@TWOLIMB_BUILD=$(BUILD) tests/fuzz/run $(SECONDS) $(FUZZERS)

$(BUILD)/fuzz_%: $(BUILD)/tests/fuzz/fuzz_%.o $(LIB)
	$(CC) $(SANITIZE) -fsanitize=fuzzer -o $@ $^ $(LDLIBS)
$(BUILD)/fuzz_png: LDLIBS += -lz
$(BUILD)/tests/fuzz/%.o: CFLAGS += -D_GNU_SOURCE
# Comparing numbers leads to no new input; following each comparison only halves the speed.
$(foreach stage,limb sky spot track,$(BUILD)/src/$(stage)/%.o): SANITIZE += $(NUMERIC)

# Static analysis. clang-tidy's checks and their reasons are in .clang-tidy, cppcheck's exceptions in
# tests/cppcheck.supp. Generated tables are not read.
LINT_SRC = $(filter-out %_table.c $(if $(LIBSWE),,tests/tool_sky_accuracy.c),$(wildcard src/*.c src/*/*.c tests/*.c tests/fuzz/*.c))
LINT_SCRIPTS = $(wildcard .ci/run .ci/setup tests/run tests/fuzz/run src/report/embed tests/lint)

.PHONY: lint valgrind
lint: ## clang-tidy, cppcheck and shellcheck over everything; must be clean
	@.ci/setup
	@.ci/setup .ci/packages-lint
	@$(MAKE) --no-print-directory $(EMBEDDED)
	@tests/lint '-std=c17 -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc -I$(BUILD) \
	    $(shell pkg-config --cflags $(PACKAGES) 2>/dev/null)' '$(LINT_SCRIPTS)' $(LINT_SRC)

# The tests that take less than some two minutes each under Valgrind, which is 20 to 50 times slower:
# all readers, tables, the almanac's parts, the drawing of a page. AddressSanitizer has the rest.
VALGRIND_TESTS = base frame_exif frame_exif_hostile frame_files frame_heif frame_heif_size frame_icc frame_limits \
    frame_odd_jpeg frame_png frame_preview frame_read frame_tiff frame_times report_gif report_text report_json \
    report_tables spot_list spot_place
valgrind: setup ## memcheck over the tests that are quick enough
	@.ci/setup .ci/packages-valgrind
	@$(MAKE) --no-print-directory all test-programs
	@TWOLIMB_UNDER="valgrind --quiet --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite \
	    --suppressions=tests/valgrind.supp" tests/run $(filter $(VALGRIND_TESTS:%=$(BUILD)/tests/test_%),$(TESTS))

# Style sheets and scripts of the pages, as headers of C.
EMBEDDED = $(patsubst src/report/%,$(BUILD)/embedded/%.h,$(wildcard src/report/*.css src/report/*.js))
$(EMBEDDED): $(BUILD)/embedded/%.h: src/report/% src/report/embed
	@mkdir -p $(@D)
	src/report/embed $< >$@.new && mv $@.new $@
$(call object,$(wildcard src/report/*.c)): | $(EMBEDDED)

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(CFLAGS) -MMD -MP -c -o $@ $<

-include $(shell find $(BUILD) -name '*.d' 2>/dev/null)
