# What every program gets that says nothing else, so that a new test is one line in a list below.
# The products set these themselves. Tests reach the inside of library and program, and can make
# allocations fail (failing_alloc.h); libtest.la holds all of it.
AM_CFLAGS = $(BASE_CFLAGS) $(OPENMP_CFLAGS) $(CMOCKA_CFLAGS) $(GSL_CFLAGS) $(SNDFILE_CFLAGS) \
	-I$(top_srcdir)/src/lib -I$(top_srcdir)/src/cmd
AM_LDFLAGS = $(BASE_LDFLAGS) -Wl,--wrap=pe_alloc -Wl,--wrap=pe_resize
LDADD = tests/unit/libtest.la $(CMOCKA_LIBS) -lm
check_LTLIBRARIES = tests/unit/libtest.la
tests_unit_libtest_la_SOURCES = \
	tests/unit/failing_alloc.c \
	tests/unit/failing_alloc.h \
	$(END)
tests_unit_libtest_la_LIBADD = src/cmd/libcmd.la src/lib/libcore.la

# Unit tests: one program a module, tests/unit/test_NAME.c.
if HAVE_CMOCKA
tests_unit_libtest_la_SOURCES += \
	tests/unit/drawn.h \
	tests/unit/judged_wall.c \
	tests/unit/judged_wall.h \
	tests/unit/made_results.c \
	tests/unit/made_results.h \
	tests/unit/made_scan.c \
	tests/unit/made_scan.h \
	tests/unit/made_map.c \
	tests/unit/made_map.h \
	tests/unit/made_stack.c \
	tests/unit/made_stack.h \
	tests/unit/made_trace.c \
	tests/unit/made_trace.h \
	tests/unit/own_folder.c \
	tests/unit/own_folder.h \
	tests/unit/read_text.h \
	tests/unit/svg_patches.h \
	$(END)
UNIT_TESTS = \
	tests/unit/test_acceptance \
	tests/unit/test_agreement \
	tests/unit/test_alignment \
	tests/unit/test_along \
	tests/unit/test_analytic \
	tests/unit/test_average \
	tests/unit/test_beam \
	tests/unit/test_bscan_script \
	tests/unit/test_budget \
	tests/unit/test_calibration \
	tests/unit/test_cases \
	tests/unit/test_change \
	tests/unit/test_check_log \
	tests/unit/test_clipping \
	tests/unit/test_clusters \
	tests/unit/test_condition \
	tests/unit/test_coverage \
	tests/unit/test_context \
	tests/unit/test_context_holes \
	tests/unit/test_context_traces \
	tests/unit/test_data_image \
	tests/unit/test_date \
	tests/unit/test_digest \
	tests/unit/test_distortion \
	tests/unit/test_doubts \
	tests/unit/test_drift \
	tests/unit/test_echo \
	tests/unit/test_error \
	tests/unit/test_expected_echo \
	tests/unit/test_gain \
	tests/unit/test_gauge_log \
	tests/unit/test_gnuplot \
	tests/unit/test_grid \
	tests/unit/test_indication_next \
	tests/unit/test_indication_order \
	tests/unit/test_indications \
	tests/unit/test_histogram_script \
	tests/unit/test_html_out \
	tests/unit/test_inspect \
	tests/unit/test_interface \
	tests/unit/test_json_out \
	tests/unit/test_labels \
	tests/unit/test_laminate \
	tests/unit/test_layers \
	tests/unit/test_layers_match \
	tests/unit/test_layup \
	tests/unit/test_least_squares_nist \
	tests/unit/test_line_repeat \
	tests/unit/test_manifest \
	tests/unit/test_map_outlines \
	tests/unit/test_map_script \
	tests/unit/test_media \
	tests/unit/test_nearest \
	tests/unit/test_noise \
	tests/unit/test_nominal \
	tests/unit/test_number \
	tests/unit/test_options \
	tests/unit/test_outliers \
	tests/unit/test_outputs \
	tests/unit/test_plate_fit \
	tests/unit/test_plies \
	tests/unit/test_plot_script \
	tests/unit/test_plot_trace \
	tests/unit/test_probe_character \
	tests/unit/test_procedure \
	tests/unit/test_procedure_beam \
	tests/unit/test_procedure_edit \
	tests/unit/test_procedure_file \
	tests/unit/test_procedure_keys \
	tests/unit/test_profile_range \
	tests/unit/test_profile_take \
	tests/unit/test_pulse \
	tests/unit/test_record_faults \
	tests/unit/test_report_words \
	tests/unit/test_results \
	tests/unit/test_results_check \
	tests/unit/test_rows \
	tests/unit/test_scan_axes \
	tests/unit/test_scan_folder \
	tests/unit/test_scan_journal \
	tests/unit/test_setup_day \
	tests/unit/test_shots \
	tests/unit/test_simulate \
	tests/unit/test_smooth_wall \
	tests/unit/test_spectrum \
	tests/unit/test_stack_fit \
	tests/unit/test_stack_model \
	tests/unit/test_stack_scan \
	tests/unit/test_stacks \
	tests/unit/test_stacks_scratch \
	tests/unit/test_step_rows \
	tests/unit/test_stretch \
	tests/unit/test_table \
	tests/unit/test_trace \
	tests/unit/test_tracefile_audio \
	tests/unit/test_tracefile_csv \
	tests/unit/test_tracefile_csv_broken \
	tests/unit/test_tracefile_csv_times \
	tests/unit/test_tracefile_csv_write \
	tests/unit/test_transit \
	tests/unit/test_verdict \
	tests/unit/test_wall \
	tests/unit/test_walls \
	tests/unit/test_ways \
	$(END)
tests_unit_test_least_squares_nist_SOURCES = \
	tests/unit/nist_strd.h \
	tests/unit/test_least_squares_nist.c \
	$(END)
check_PROGRAMS += $(UNIT_TESTS)
TESTS += $(UNIT_TESTS)
endif

# Fuzzing targets; make check gives each the files of tests/fuzz/corpus, whole and damaged.
FUZZ_TARGETS = \
	tests/fuzz/fuzz_layers \
	tests/fuzz/fuzz_manifest \
	tests/fuzz/fuzz_procedure \
	tests/fuzz/fuzz_procedure_edit \
	tests/fuzz/fuzz_results \
	tests/fuzz/fuzz_rows \
	tests/fuzz/fuzz_step_rows \
	tests/fuzz/fuzz_tracefile \
	$(END)
check_PROGRAMS += $(FUZZ_TARGETS)
TESTS += tests/fuzz/run-fuzz.sh
EXTRA_DIST += tests/fuzz/corpus tests/fuzz/run-fuzz.sh
FUZZ_DRIVER = tests/fuzz/driver.c tests/fuzz/target.h

tests_fuzz_fuzz_layers_SOURCES = tests/fuzz/fuzz_layers.c $(FUZZ_DRIVER)

tests_fuzz_fuzz_manifest_SOURCES = tests/fuzz/fuzz_manifest.c $(FUZZ_DRIVER)

tests_fuzz_fuzz_procedure_SOURCES = tests/fuzz/fuzz_procedure.c $(FUZZ_DRIVER)

tests_fuzz_fuzz_procedure_edit_SOURCES = tests/fuzz/fuzz_procedure_edit.c $(FUZZ_DRIVER)
tests_fuzz_fuzz_results_SOURCES = tests/fuzz/fuzz_results.c $(FUZZ_DRIVER)

tests_fuzz_fuzz_rows_SOURCES = tests/fuzz/fuzz_rows.c $(FUZZ_DRIVER)
tests_fuzz_fuzz_step_rows_SOURCES = tests/fuzz/fuzz_step_rows.c $(FUZZ_DRIVER)

tests_fuzz_fuzz_tracefile_SOURCES = tests/fuzz/fuzz_tracefile.c $(FUZZ_DRIVER)

# Pages whose commands must do what the pages show; `make update-docs` puts what happens into them.
MD_LOG_COMPILER = $(srcdir)/tests/docs/run-docs.sh
DOC_TESTS = \
	README.md \
	docs/compare.md \
	docs/procedure.md \
	docs/readings.md \
	docs/report.md \
	docs/scan.md \
	docs/walk-through.md \
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
	tests/reference/test_agreement.py \
	tests/reference/test_budget.py \
	tests/reference/test_compare.py \
	tests/reference/test_calibrate.py \
	tests/reference/test_fdtd_set.py \
	tests/reference/test_filters.py \
	tests/reference/test_layers.py \
	tests/reference/test_log.py \
	tests/reference/test_fits.py \
	tests/reference/test_independent_sim.py \
	tests/reference/test_misleading.py \
	tests/reference/test_mode1.py \
	tests/reference/test_plan.py \
	tests/reference/test_probe.py \
	tests/reference/test_report.py \
	tests/reference/test_scan.py \
	tests/reference/test_scan_tube.py \
	tests/reference/test_scan_geometry.py \
	tests/reference/test_scan_results.py \
	tests/reference/test_score_set.py \
	tests/reference/test_simulate.py \
	tests/reference/test_stacks.py \
	tests/reference/test_tables.py \
	tests/reference/test_tracefile.py \
	$(END)
TESTS += $(REFERENCE_TESTS)
check_PROGRAMS += \
	tests/reference/compare_probe \
	tests/reference/filter_probe \
	tests/reference/fit_probe \
	tests/reference/log_probe \
	tests/reference/scan_probe \
	tests/reference/stack_probe \
	$(END)
EXTRA_DIST += $(REFERENCE_TESTS) \
	tests/reference/browser.py \
	tests/reference/calibrate_odds.py \
	tests/reference/fdtd_lossy.py \
	tests/reference/fdtd_set.py \
	tests/reference/fdtd_sim.py \
	tests/reference/fdtd_walls.py \
	tests/reference/hard_cases.py \
	tests/reference/independent_sim.py \
	tests/reference/layer_cases.py \
	tests/reference/layered.py \
	tests/reference/measure_levels.py \
	tests/reference/misleading.py \
	tests/reference/page_look.py \
	tests/reference/run-python.sh \
	tests/reference/scan_tube.py \
	tests/reference/scipy_baseline.py \
	tests/reference/score_scan.py \
	tests/reference/score_set.py \
	tests/reference/wall_cases.py \
	$(END)

# Command-line cases: rows of data in tests/cli, see the README.md there.
TESTS += tests/cli/run-cases.sh
EXTRA_DIST += tests/cli
# An in-tree build leaves the test's own log among them.
dist-hook:
	rm -f $(distdir)/tests/cli/*.log $(distdir)/tests/cli/*.trs

# Times to look at, not to test: nothing is asserted.
BENCHES = tests/bench/bench_read_csv$(EXEEXT)
EXTRA_PROGRAMS = tests/bench/bench_read_csv
if HAVE_CMOCKA # its traces are those of the unit tests
BENCHES += tests/bench/bench_measure$(EXEEXT)
EXTRA_PROGRAMS += tests/bench/bench_measure
endif
CLEANFILES += $(BENCHES)
bench: $(BENCHES)
	@for program in $(BENCHES); do ./$$program || exit 1; done
.PHONY: bench
