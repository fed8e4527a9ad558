# Lists end with the empty $(END), so that a new file is one new line.
#
# libcore.la holds the code once; libplyecho.la is what gets installed, unit tests link the core
# itself, so that they reach what is not exported.
plyechoincludedir = $(includedir)/plyecho
plyechoinclude_HEADERS = \
	include/plyecho/acceptance.h \
	include/plyecho/along.h \
	include/plyecho/analytic.h \
	include/plyecho/average.h \
	include/plyecho/budget.h \
	include/plyecho/calibration.h \
	include/plyecho/beam.h \
	include/plyecho/clipping.h \
	include/plyecho/clusters.h \
	include/plyecho/condition.h \
	include/plyecho/context.h \
	include/plyecho/coverage.h \
	include/plyecho/date.h \
	include/plyecho/digest.h \
	include/plyecho/drift.h \
	include/plyecho/echo.h \
	include/plyecho/error.h \
	include/plyecho/expected_echo.h \
	include/plyecho/gain.h \
	include/plyecho/gauge_log.h \
	include/plyecho/grid.h \
	include/plyecho/indications.h \
	include/plyecho/influences.h \
	include/plyecho/inspect.h \
	include/plyecho/known.h \
	include/plyecho/labels.h \
	include/plyecho/laminate.h \
	include/plyecho/layer_reading.h \
	include/plyecho/layers.h \
	include/plyecho/manifest.h \
	include/plyecho/media.h \
	include/plyecho/nearest.h \
	include/plyecho/noise.h \
	include/plyecho/number.h \
	include/plyecho/outliers.h \
	include/plyecho/place_reading.h \
	include/plyecho/plate_fit.h \
	include/plyecho/plies.h \
	include/plyecho/probe_character.h \
	include/plyecho/procedure.h \
	include/plyecho/procedure_beam.h \
	include/plyecho/procedure_edit.h \
	include/plyecho/procedure_keys.h \
	include/plyecho/pulse.h \
	include/plyecho/rows.h \
	include/plyecho/shots.h \
	include/plyecho/simulate.h \
	include/plyecho/smooth_wall.h \
	include/plyecho/spectrum.h \
	include/plyecho/stacks.h \
	include/plyecho/step_rows.h \
	include/plyecho/trace.h \
	include/plyecho/tracefile.h \
	include/plyecho/transit.h \
	include/plyecho/verdict.h \
	include/plyecho/wall.h \
	include/plyecho/walls.h \
	$(END)

noinst_LTLIBRARIES += src/lib/libcore.la
src_lib_libcore_la_SOURCES = \
	src/lib/acceptance.c \
	src/lib/acceptance_bars.c \
	src/lib/acceptance_gaps.c \
	src/lib/acceptance_inside.h \
	src/lib/acceptance_rows.c \
	src/lib/acceptance_sizes.c \
	src/lib/acceptance_wall.c \
	src/lib/alloc.c \
	src/lib/alloc.h \
	src/lib/along.c \
	src/lib/analytic.c \
	src/lib/audio_container.c \
	src/lib/audio_container.h \
	src/lib/audio_labels.c \
	src/lib/audio_labels.h \
	src/lib/audio_memory.c \
	src/lib/audio_memory.h \
	src/lib/average.c \
	src/lib/band_gain.h \
	src/lib/baseline.c \
	src/lib/baseline.h \
	src/lib/calibration.c \
	src/lib/beam.c \
	src/lib/budget.c \
	src/lib/clipping.c \
	src/lib/clusters.c \
	src/lib/condition.c \
	src/lib/coverage.c \
	src/lib/coverage_area.c \
	src/lib/coverage_parts.h \
	src/lib/coverage_unseen.c \
	src/lib/context.c \
	src/lib/context_coats.c \
	src/lib/context_inside.c \
	src/lib/context_inside.h \
	src/lib/context_layers.c \
	src/lib/context_levels.c \
	src/lib/context_walls.c \
	src/lib/csv_axis.c \
	src/lib/csv_axis.h \
	src/lib/csv_columns.c \
	src/lib/csv_columns.h \
	src/lib/csv_heading.c \
	src/lib/csv_heading.h \
	src/lib/csv_layout.c \
	src/lib/csv_layout.h \
	src/lib/csv_preamble.c \
	src/lib/csv_preamble.h \
	src/lib/csv_rows.c \
	src/lib/csv_rows.h \
	src/lib/csv_signal.c \
	src/lib/csv_signal.h \
	src/lib/csv_text.c \
	src/lib/csv_text.h \
	src/lib/csv_timebase.c \
	src/lib/csv_timebase.h \
	src/lib/date.c \
	src/lib/decimal.h \
	src/lib/decimal_format.c \
	src/lib/decimal_scan.c \
	src/lib/digest.c \
	src/lib/distortion.c \
	src/lib/distortion.h \
	src/lib/doubts.c \
	src/lib/doubts.h \
	src/lib/drift.c \
	src/lib/echo.c \
	src/lib/error.c \
	src/lib/evidence.c \
	src/lib/evidence.h \
	src/lib/expected_echo.c \
	src/lib/explain.c \
	src/lib/explain.h \
	src/lib/extremes.h \
	src/lib/formats.h \
	src/lib/fourier.c \
	src/lib/fourier.h \
	src/lib/gain.c \
	src/lib/gauge_log.c \
	src/lib/gauge_log_falls.c \
	src/lib/gauge_log_groups.c \
	src/lib/gauge_log_inside.h \
	src/lib/gauge_log_parts.c \
	src/lib/gauge_log_places.c \
	src/lib/grid.c \
	src/lib/grid_cells.c \
	src/lib/grid_cells.h \
	src/lib/grid_near.c \
	src/lib/grid_near.h \
	src/lib/grid_walk.c \
	src/lib/indication_groups.c \
	src/lib/indication_groups.h \
	src/lib/indication_order.c \
	src/lib/indication_size.c \
	src/lib/indication_size.h \
	src/lib/indications.c \
	src/lib/ini.c \
	src/lib/ini.h \
	src/lib/influences.c \
	src/lib/inspect.c \
	src/lib/inspect_words.c \
	src/lib/labels.c \
	src/lib/interface.c \
	src/lib/interface.h \
	src/lib/laminate.c \
	src/lib/lanes.h \
	src/lib/layers.c \
	src/lib/layers_match.c \
	src/lib/layers_match.h \
	src/lib/layers_read.c \
	src/lib/layers_verdict.c \
	src/lib/layers_verdict.h \
	src/lib/layers_words.c \
	src/lib/manifest.c \
	src/lib/media.c \
	src/lib/least_squares.c \
	src/lib/least_squares.h \
	src/lib/line_repeat.c \
	src/lib/line_repeat.h \
	src/lib/lost_time.c \
	src/lib/lost_time.h \
	src/lib/moments.h \
	src/lib/named_rows.c \
	src/lib/named_rows.h \
	src/lib/nearest.c \
	src/lib/noise.c \
	src/lib/nominal.c \
	src/lib/nominal.h \
	src/lib/number.c \
	src/lib/passage.h \
	src/lib/pi.h \
	src/lib/odds.h \
	src/lib/outcome.h \
	src/lib/outliers.c \
	src/lib/pick.c \
	src/lib/place_reading.c \
	src/lib/plate_fit.c \
	src/lib/plies.c \
	src/lib/probe_character.c \
	src/lib/procedure.c \
	src/lib/procedure_beam.c \
	src/lib/procedure_contradictions.c \
	src/lib/procedure_edit.c \
	src/lib/procedure_keys.c \
	src/lib/pulse.c \
	src/lib/record_faults.c \
	src/lib/record_faults.h \
	src/lib/reference.c \
	src/lib/rows.c \
	src/lib/second_pass.c \
	src/lib/second_pass.h \
	src/lib/sets.c \
	src/lib/sets.h \
	src/lib/shots.c \
	src/lib/simulate.c \
	src/lib/small_matrix.c \
	src/lib/small_matrix.h \
	src/lib/smooth_wall.c \
	src/lib/sort.c \
	src/lib/sort.h \
	src/lib/span.h \
	src/lib/spectrum.c \
	src/lib/trace.c \
	src/lib/stack_fit.c \
	src/lib/stack_fit.h \
	src/lib/stack_fit_inside.h \
	src/lib/stack_model.c \
	src/lib/stack_model.h \
	src/lib/stack_scan.c \
	src/lib/stack_search.c \
	src/lib/stack_search.h \
	src/lib/stack_take.c \
	src/lib/stack_trial.c \
	src/lib/stack_trial.h \
	src/lib/stack_verdict.c \
	src/lib/stack_verdict.h \
	src/lib/stacks.c \
	src/lib/stacks.h \
	src/lib/step_rows.c \
	src/lib/tracefile.c \
	src/lib/tracefile_audio.c \
	src/lib/tracefile_csv.c \
	src/lib/tracefile_csv_write.c \
	src/lib/transit.c \
	src/lib/units.h \
	src/lib/usual.h \
	src/lib/variance.h \
	src/lib/verdict.c \
	src/lib/wall.c \
	src/lib/walls.c \
	src/lib/words.c \
	$(END)
# Loops over samples are written for the compiler to vectorise; nobody here reads errno after sqrtf.
src_lib_libcore_la_CFLAGS = $(BASE_CFLAGS) -ftree-vectorize -fno-math-errno -fcx-limited-range \
	$(FFTW_CFLAGS) $(SNDFILE_CFLAGS) $(GSL_CFLAGS) $(NETTLE_CFLAGS)
src_lib_libcore_la_LIBADD = $(FFTW_LIBS) $(SNDFILE_LIBS) $(GSL_LIBS) $(NETTLE_LIBS) -lm

lib_LTLIBRARIES = libplyecho.la
libplyecho_la_SOURCES =
libplyecho_la_LIBADD = src/lib/libcore.la
libplyecho_la_LDFLAGS = $(BASE_LDFLAGS) -no-undefined -version-info 0:0:0 \
	-export-symbols-regex '^plyecho_'

pkgconfig_DATA = src/lib/libplyecho.pc

# The dynamic linker finds a library in /usr/local/lib through its cache.
install-exec-hook:
	@if test -z "$(DESTDIR)" && test "`id -u`" = 0; then \
	  PATH="$$PATH:/sbin:/usr/sbin" ldconfig || :; \
	fi
