# Unit tests: one program a module, linked with the library's core.
if HAVE_CMOCKA
UNIT_TESTS = \
	tests/unit/test_analytic \
	tests/unit/test_average \
	tests/unit/test_cases \
	tests/unit/test_clipping \
	tests/unit/test_condition \
	tests/unit/test_digest \
	tests/unit/test_echo \
	tests/unit/test_error \
	tests/unit/test_gain \
	tests/unit/test_gnuplot \
	tests/unit/test_inspect \
	tests/unit/test_labels \
	tests/unit/test_laminate \
	tests/unit/test_layup \
	tests/unit/test_nearest \
	tests/unit/test_noise \
	tests/unit/test_number \
	tests/unit/test_options \
	tests/unit/test_outputs \
	tests/unit/test_plate_fit \
	tests/unit/test_plies \
	tests/unit/test_plot_script \
	tests/unit/test_plot_trace \
	tests/unit/test_procedure \
	tests/unit/test_pulse \
	tests/unit/test_simulate \
	tests/unit/test_spectrum \
	tests/unit/test_table \
	tests/unit/test_trace \
	tests/unit/test_tracefile_audio \
	tests/unit/test_tracefile_csv \
	tests/unit/test_transit \
	tests/unit/test_verdict \
	tests/unit/test_wall \
	$(END)
check_PROGRAMS += $(UNIT_TESTS)
TESTS += $(UNIT_TESTS)
endif
UNIT_CFLAGS = $(AM_CFLAGS) $(CMOCKA_CFLAGS) -I$(top_srcdir)/src/lib
UNIT_LIBS = src/lib/libcore.la $(CMOCKA_LIBS) -lm
# For tests of the program's own code.
CMD_UNIT_CFLAGS = $(AM_CFLAGS) $(CMOCKA_CFLAGS) -I$(top_srcdir)/src/cmd
CMD_UNIT_LIBS = src/cmd/libcmd.la $(UNIT_LIBS)

# For tests that make allocations fail.
FAILING_ALLOC = tests/unit/failing_alloc.c tests/unit/failing_alloc.h
WRAPPED_ALLOC = $(AM_LDFLAGS) -Wl,--wrap=pe_alloc -Wl,--wrap=pe_resize

tests_unit_test_analytic_SOURCES = tests/unit/test_analytic.c $(FAILING_ALLOC)
tests_unit_test_analytic_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_analytic_LDADD = $(UNIT_LIBS)
tests_unit_test_analytic_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_clipping_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_clipping_LDADD = $(UNIT_LIBS)

tests_unit_test_digest_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_digest_LDADD = $(UNIT_LIBS)

tests_unit_test_error_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_error_LDADD = $(UNIT_LIBS)

tests_unit_test_gnuplot_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_gnuplot_LDADD = src/cmd/libcmd.la $(UNIT_LIBS)

tests_unit_test_nearest_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_nearest_LDADD = $(UNIT_LIBS)

tests_unit_test_plot_trace_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_plot_trace_LDADD = src/cmd/libcmd.la $(UNIT_LIBS)

tests_unit_test_plot_script_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_plot_script_LDADD = src/cmd/libcmd.la $(UNIT_LIBS)

# Fuzzing targets; make check gives each the files of tests/fuzz/corpus, whole and damaged.
FUZZ_TARGETS = \
	tests/fuzz/fuzz_procedure \
	tests/fuzz/fuzz_tracefile \
	$(END)
check_PROGRAMS += $(FUZZ_TARGETS)
TESTS += tests/fuzz/run-fuzz.sh
EXTRA_DIST += tests/fuzz/corpus tests/fuzz/run-fuzz.sh
FUZZ_DRIVER = tests/fuzz/driver.c tests/fuzz/target.h
FUZZ_LIBS = src/lib/libcore.la -lm

tests_fuzz_fuzz_procedure_SOURCES = tests/fuzz/fuzz_procedure.c $(FUZZ_DRIVER)
tests_fuzz_fuzz_procedure_LDADD = $(FUZZ_LIBS)

tests_fuzz_fuzz_tracefile_SOURCES = tests/fuzz/fuzz_tracefile.c $(FUZZ_DRIVER)
tests_fuzz_fuzz_tracefile_LDADD = $(FUZZ_LIBS)
# Traces of bursts, and of walls by the layer model.
MADE_TRACE = tests/unit/made_trace.c tests/unit/made_trace.h

tests_unit_test_plate_fit_SOURCES = tests/unit/test_plate_fit.c $(MADE_TRACE) $(FAILING_ALLOC)
tests_unit_test_plate_fit_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_plate_fit_LDADD = $(UNIT_LIBS)
tests_unit_test_plate_fit_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_condition_SOURCES = tests/unit/test_condition.c $(MADE_TRACE) $(FAILING_ALLOC)
tests_unit_test_condition_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_condition_LDADD = $(UNIT_LIBS)
tests_unit_test_condition_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_echo_SOURCES = tests/unit/test_echo.c $(MADE_TRACE)
tests_unit_test_echo_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_echo_LDADD = $(UNIT_LIBS)

tests_unit_test_noise_SOURCES = tests/unit/test_noise.c $(MADE_TRACE)
tests_unit_test_noise_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_noise_LDADD = $(UNIT_LIBS)

tests_unit_test_transit_SOURCES = tests/unit/test_transit.c $(MADE_TRACE)
tests_unit_test_transit_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_transit_LDADD = $(UNIT_LIBS)

tests_unit_test_verdict_SOURCES = tests/unit/test_verdict.c $(MADE_TRACE)
tests_unit_test_verdict_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_verdict_LDADD = $(UNIT_LIBS)

tests_unit_test_wall_SOURCES = tests/unit/test_wall.c $(MADE_TRACE)
tests_unit_test_wall_CFLAGS = $(UNIT_CFLAGS) $(GSL_CFLAGS)
tests_unit_test_wall_LDADD = $(UNIT_LIBS)

# Pages whose commands must do what the pages show; `make update-docs` puts what happens into them.
MD_LOG_COMPILER = $(srcdir)/tests/docs/run-docs.sh
DOC_TESTS = \
	README.md \
	docs/procedure.md \
	$(END)
TESTS += $(DOC_TESTS) tests/docs/columns.sh
EXTRA_DIST += tests/docs/columns.sh tests/docs/run-docs.sh

.PHONY: update-docs
update-docs: plyecho$(EXEEXT)
	cd $(srcdir) && PATH=$(abs_builddir):$$PATH tests/docs/run-docs.sh --update $(DOC_TESTS)

# The demonstration traces: made anew they are the same, and assess judges them as their truth says.
TRACE_TESTS = \
	tests/traces/test_reproduce.sh \
	tests/traces/test_verdicts.sh \
	$(END)
TESTS += $(TRACE_TESTS)
EXTRA_DIST += $(TRACE_TESTS)

# Reference tests: Python with SciPy, skipped loudly where there is none.
TEST_EXTENSIONS = .md .py
PY_LOG_COMPILER = env SCIPY_PYTHON='$(SCIPY_PYTHON)' $(srcdir)/tests/reference/run-python.sh
REFERENCE_TESTS = \
	tests/reference/test_filters.py \
	tests/reference/test_independent_sim.py \
	tests/reference/test_score_set.py \
	tests/reference/test_simulate.py \
	tests/reference/test_tables.py \
	tests/reference/test_tracefile.py \
	$(END)
TESTS += $(REFERENCE_TESTS)
check_PROGRAMS += tests/reference/filter_probe
tests_reference_filter_probe_LDADD = src/lib/libcore.la -lm
EXTRA_DIST += $(REFERENCE_TESTS) \
	tests/reference/fdtd_sim.py \
	tests/reference/hard_cases.py \
	tests/reference/independent_sim.py \
	tests/reference/layered.py \
	tests/reference/measure_levels.py \
	tests/reference/run-python.sh \
	tests/reference/scipy_baseline.py \
	tests/reference/score_set.py \
	tests/reference/wall_cases.py \
	$(END)

tests_unit_test_laminate_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_laminate_LDADD = $(UNIT_LIBS)

tests_unit_test_procedure_SOURCES = tests/unit/test_procedure.c $(FAILING_ALLOC)
tests_unit_test_procedure_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_procedure_LDADD = $(UNIT_LIBS)
tests_unit_test_procedure_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_pulse_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_pulse_LDADD = $(UNIT_LIBS)

tests_unit_test_labels_SOURCES = tests/unit/test_labels.c $(FAILING_ALLOC)
tests_unit_test_labels_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_labels_LDADD = $(UNIT_LIBS)
tests_unit_test_labels_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_number_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_number_LDADD = $(UNIT_LIBS)

tests_unit_test_trace_SOURCES = tests/unit/test_trace.c $(FAILING_ALLOC)
tests_unit_test_trace_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_trace_LDADD = $(UNIT_LIBS)
tests_unit_test_trace_LDFLAGS = $(WRAPPED_ALLOC)
tests_unit_test_spectrum_SOURCES = tests/unit/test_spectrum.c $(FAILING_ALLOC)
tests_unit_test_spectrum_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_spectrum_LDADD = $(UNIT_LIBS)
tests_unit_test_spectrum_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_plies_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_plies_LDADD = $(UNIT_LIBS)

tests_unit_test_simulate_SOURCES = tests/unit/test_simulate.c $(FAILING_ALLOC)
tests_unit_test_simulate_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_simulate_LDADD = $(UNIT_LIBS)
tests_unit_test_simulate_LDFLAGS = $(WRAPPED_ALLOC)
tests_unit_test_average_SOURCES = tests/unit/test_average.c $(FAILING_ALLOC)
tests_unit_test_average_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_average_LDADD = $(UNIT_LIBS)
tests_unit_test_average_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_gain_SOURCES = tests/unit/test_gain.c $(FAILING_ALLOC)
tests_unit_test_gain_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_gain_LDADD = $(UNIT_LIBS)
tests_unit_test_gain_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_inspect_SOURCES = tests/unit/test_inspect.c $(FAILING_ALLOC)
tests_unit_test_inspect_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_inspect_LDADD = $(UNIT_LIBS)
tests_unit_test_inspect_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_cases_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_cases_LDADD = src/cmd/libcmd.la $(UNIT_LIBS)

tests_unit_test_layup_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_layup_LDADD = src/cmd/libcmd.la $(UNIT_LIBS)

tests_unit_test_tracefile_audio_SOURCES = tests/unit/test_tracefile_audio.c $(FAILING_ALLOC)
tests_unit_test_tracefile_audio_CFLAGS = $(UNIT_CFLAGS) $(SNDFILE_CFLAGS)
tests_unit_test_tracefile_audio_LDADD = $(UNIT_LIBS) $(SNDFILE_LIBS)
tests_unit_test_tracefile_audio_LDFLAGS = $(WRAPPED_ALLOC)

tests_unit_test_tracefile_csv_SOURCES = tests/unit/test_tracefile_csv.c $(FAILING_ALLOC)
tests_unit_test_tracefile_csv_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_tracefile_csv_LDADD = $(UNIT_LIBS)
tests_unit_test_tracefile_csv_LDFLAGS = $(WRAPPED_ALLOC)
tests_unit_test_options_CFLAGS = $(CMD_UNIT_CFLAGS)
tests_unit_test_options_LDADD = $(CMD_UNIT_LIBS)

tests_unit_test_outputs_CFLAGS = $(CMD_UNIT_CFLAGS)
tests_unit_test_outputs_LDADD = $(CMD_UNIT_LIBS)

tests_unit_test_table_CFLAGS = $(CMD_UNIT_CFLAGS)
tests_unit_test_table_LDADD = $(CMD_UNIT_LIBS)

# Command-line cases: rows of data in tests/cli, see the README.md there.
TESTS += tests/cli/run-cases.sh
EXTRA_DIST += tests/cli
# An in-tree build leaves the test's own log among them.
dist-hook:
	rm -f $(distdir)/tests/cli/*.log $(distdir)/tests/cli/*.trs

# Times to look at, not to test: nothing is asserted.
BENCHES = tests/bench/bench_read_csv$(EXEEXT)
EXTRA_PROGRAMS = tests/bench/bench_read_csv
CLEANFILES += $(BENCHES)
tests_bench_bench_read_csv_LDADD = src/lib/libcore.la -lm
bench: $(BENCHES)
	@for program in $(BENCHES); do ./$$program || exit 1; done
.PHONY: bench
