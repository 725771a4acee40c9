# portmuster: `make help` lists what can be made.

CC       ?= cc
CFLAGS   ?= -O2 -g
PREFIX   ?= /usr/local
DESTDIR  ?=
SANITIZE ?=
WERROR   ?=
IEEE     ?= /usr/share/ieee-data
comma    := ,
ifdef SANITIZE
BUILD    ?= build/san-$(subst $(comma),-,$(SANITIZE))
SAN      := -fsanitize=$(SANITIZE) -fno-omit-frame-pointer -fno-sanitize-recover=undefined
else
BUILD    ?= build
SAN      :=
endif

VERSION  := 0.1.0
WARN     := -Wall -Wextra -Wpedantic -Wshadow -Wstrict-prototypes -Wmissing-prototypes \
            -Wpointer-arith -Wcast-qual -Wwrite-strings -Wundef -Wformat=2 -Wvla
ifneq ($(WERROR),)
WARN     += -Werror
endif
STD      := -std=c11 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE
ALLFLAGS := $(STD) $(WARN) -Iinclude -Isrc -isystem /usr/include/libxml2 -DPM_VERSION='"$(VERSION)"' $(CFLAGS) $(SAN)

# The floors, top first. A floor's objects form one archive.
FLOORS   := board walk report sheet capture screen store core
LIBS     := -lncursesw -ltinfo -lyaml -ljansson -lsodium -lpthread -ldl
# Loaded by the program only when they are needed (src/cmd/late.c); tests link them.
LATE     := -lzip -lxml2 -lqrencode
soname    = $(or $(shell readelf -d "$$($(CC) -print-file-name=lib$(1).so)" 2>/dev/null | sed -n 's/.*(SONAME).*\[\(.*\)\]/\1/p'),lib$(1).so)

objects   = $(patsubst src/%.c,$(BUILD)/obj/%.o,$(sort $(wildcard src/$(1)/*.c)))
archive   = $(BUILD)/lib$(if $(filter core,$(1)),portmuster,pm-$(1)).a
ARCHIVES := $(foreach f,$(FLOORS),$(call archive,$(f)))

# What a test of a floor links: that floor and the ones below it.
LINK_core    := core
LINK_store   := store core
LINK_screen  := screen core
LINK_capture := capture core
LINK_sheet   := sheet store core
LINK_report  := report core
LINK_walk    := walk report sheet capture screen store core
LINK_board   := board report sheet capture screen store core

PROGRAM  := $(BUILD)/bin/portmuster
SHARE    := $(BUILD)/share/portmuster
REGISTRY := $(SHARE)/registry.idx
DATA     := $(sort $(wildcard data/plans/*.yaml data/gear/*.yaml data/sheets/*.yaml data/sheets/*.xlsx \
                         data/demo/*.yaml data/demo/*.log data/demo/*.md))
SHARED   := $(patsubst data/%,$(SHARE)/%,$(DATA))

.PHONY: all program demo check bench fuzz install uninstall clean help docs
all: program
program: $(PROGRAM) $(SHARED) $(REGISTRY)

help:
	@echo 'make            the program, in $(PROGRAM)'
	@echo 'make demo       open the practice site in the wizard (without a terminal: walk it headless)'
	@echo 'make check      every test; SANITIZE=address,undefined for a checked build'
	@echo 'make bench      ratios against yardsticks in the same run'
	@echo 'make fuzz       the readers of outside text under a fuzzer (clang), FUZZ_SECONDS each'
	@echo 'make docs       regenerate the pages that come from tables'
	@echo 'make install    into PREFIX ($(PREFIX)), below DESTDIR'

$(BUILD)/obj/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	@echo '  cc $<'
	@$(CC) $(ALLFLAGS) -MMD -MP -c $< -o $@

define floor_rule
$(call archive,$(1)): $(call objects,$(1))
	@rm -f $$@
	@mkdir -p $$(@D)
	@echo '  ar $$@'
	@ar rcs $$@ $$^
endef
$(foreach f,$(FLOORS),$(eval $(call floor_rule,$(f))))

$(BUILD)/obj/cmd/late.o: ALLFLAGS += -DPM_LIBZIP='"$(call soname,zip)"' -DPM_LIBXML2='"$(call soname,xml2)"' \
                             -DPM_LIBQR='"$(call soname,qrencode)"'

$(PROGRAM): $(call objects,cmd) $(ARCHIVES)
	@mkdir -p $(@D)
	@echo '  ld $@'
	@$(CC) $(ALLFLAGS) -Wl,--as-needed $(LDFLAGS) $^ $(LIBS) -o $@

$(SHARE)/%: data/%
	@mkdir -p $(@D)
	@cp $< $@

# The registry index; without the registry package the program is built all the
# same and says that assignments were not checked.
$(REGISTRY): $(PROGRAM) $(wildcard $(IEEE)/*.csv)
	@mkdir -p $(@D)
	@if [ -f $(IEEE)/oui.csv ]; then \
	    $(PROGRAM) registry --build $@ --from $(IEEE); \
	else \
	    echo "no $(IEEE)/oui.csv (Debian package ieee-data): assignments will not be checked"; \
	fi

# --- the demonstration -------------------------------------------------------
DEMO := $(BUILD)/demo
demo: program
	@sh tests/demo.sh $(PROGRAM) $(DEMO)

# --- tests -------------------------------------------------------------------
TESTS    := $(sort $(patsubst tests/%.c,$(BUILD)/tests/%,$(wildcard tests/unit/test_*.c tests/screen/test_*.c tests/outside/test_*.c)))
SCRIPTS  := $(sort $(wildcard tests/unit/test_*.sh tests/screen/test_*.sh tests/outside/test_*.sh tests/outside/test_*.py))
TESTLIBS_test_screen_pty := -lvterm
TESTLIBS_test_screen_leave := -lvterm
TESTLIBS_test_walk_pty := -lvterm
TESTLIBS_test_board_pty := -lvterm
TESTLIBS_test_capture_scarce := -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
TESTLIBS_test_walk_scarce := -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc
TESTLIBS_test_core_forecast := -lm
test_floor = $(word 2,$(subst _, ,$(notdir $(1))))

define test_rule
$(1): $(patsubst $(BUILD)/%,%.c,$(1)) $(foreach f,$(LINK_$(call test_floor,$(1))),$(call archive,$(f))) $(wildcard tests/*.h tests/screen/*.h)
	@mkdir -p $$(@D)
	@echo '  test $$@'
	@$$(CC) $$(ALLFLAGS) -Itests $$< $(foreach f,$(LINK_$(call test_floor,$(1))),$(call archive,$(f))) $$(TESTLIBS_$(notdir $(1))) -lcmocka $(LIBS) $(LATE) -o $$@
endef
$(foreach t,$(TESTS),$(eval $(call test_rule,$(t))))

check: program $(TESTS)
	@BUILD=$(BUILD) PROGRAM=$(PROGRAM) SHARE=$(SHARE) IEEE=$(IEEE) CC="$(CC)" \
	    sh tests/run.sh $(TESTS) $(SCRIPTS)

bench: program
	@BUILD=$(BUILD) PROGRAM=$(PROGRAM) SHARE=$(SHARE) CC="$(CC)" sh tests/bench/run.sh

FUZZ_SECONDS ?= 20
fuzz:
	@BUILD=$(BUILD)/fuzz FUZZ_SECONDS=$(FUZZ_SECONDS) sh tests/fuzz/run.sh

docs: $(BUILD)/tests/unit/test_report_pages $(BUILD)/tests/unit/test_store_pages
	@for t in $^; do PM_WRITE_DOCS=1 $$t >/dev/null || exit 1; done; git status --short docs 2>/dev/null || true

# --- installing --------------------------------------------------------------
install: program
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/lib $(DESTDIR)$(PREFIX)/include/portmuster
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/portmuster
	install -m 644 $(call archive,core) $(DESTDIR)$(PREFIX)/lib/
	install -m 644 include/portmuster/*.h $(DESTDIR)$(PREFIX)/include/portmuster/
	cd $(SHARE) && find . -type f | while read -r f; do \
	    install -D -m 644 "$$f" "$(DESTDIR)$(PREFIX)/share/portmuster/$$f"; done

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/portmuster $(DESTDIR)$(PREFIX)/lib/libportmuster.a
	rm -rf $(DESTDIR)$(PREFIX)/include/portmuster $(DESTDIR)$(PREFIX)/share/portmuster

clean:
	rm -rf build

-include $(shell find $(BUILD)/obj -name '*.d' 2>/dev/null)
