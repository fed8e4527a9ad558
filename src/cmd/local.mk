# libcmd.la holds all of the program but main(), so that unit tests can link it.
noinst_LTLIBRARIES += src/cmd/libcmd.la
src_cmd_libcmd_la_SOURCES = \
	src/cmd/assess.c \
	src/cmd/average.c \
	src/cmd/bandpass.c \
	src/cmd/calibrate.c \
	src/cmd/calibrate.h \
	src/cmd/calibrate_check.c \
	src/cmd/calibrate_date.c \
	src/cmd/calibrate_into.c \
	src/cmd/calibrate_judge.c \
	src/cmd/calibrate_levels.c \
	src/cmd/calibrate_levels.h \
	src/cmd/calibrate_options.c \
	src/cmd/calibrate_plot.c \
	src/cmd/cases.c \
	src/cmd/cases.h \
	src/cmd/conditioning.c \
	src/cmd/conditioning.h \
	src/cmd/convert.c \
	src/cmd/echoes.c \
	src/cmd/csv_log.c \
	src/cmd/csv_log.h \
	src/cmd/effective.c \
	src/cmd/effective.h \
	src/cmd/envelope.c \
	src/cmd/file.c \
	src/cmd/file.h \
	src/cmd/filter.c \
	src/cmd/filter.h \
	src/cmd/gain.c \
	src/cmd/gnuplot.c \
	src/cmd/gnuplot.h \
	src/cmd/help.c \
	src/cmd/help.h \
	src/cmd/inputs.c \
	src/cmd/inputs.h \
	src/cmd/inspect.c \
	src/cmd/layer_cells.c \
	src/cmd/layer_cells.h \
	src/cmd/layup.c \
	src/cmd/layup.h \
	src/cmd/measure.c \
	src/cmd/measure.h \
	src/cmd/memory.c \
	src/cmd/memory.h \
	src/cmd/message.c \
	src/cmd/message.h \
	src/cmd/options.c \
	src/cmd/options.h \
	src/cmd/oscillation.c \
	src/cmd/oscillation.h \
	src/cmd/outputs.c \
	src/cmd/outputs.h \
	src/cmd/place.c \
	src/cmd/place.h \
	src/cmd/plan.c \
	src/cmd/plan.h \
	src/cmd/plan_numbers.c \
	src/cmd/plan_warnings.c \
	src/cmd/plot.c \
	src/cmd/plot_data.c \
	src/cmd/plot_data.h \
	src/cmd/plot_output.c \
	src/cmd/plot_output.h \
	src/cmd/plot_script.c \
	src/cmd/plot_script.h \
	src/cmd/plot_trace.c \
	src/cmd/plot_trace.h \
	src/cmd/procedure.c \
	src/cmd/procedure_changes.c \
	src/cmd/procedure_changes.h \
	src/cmd/procedure_check.c \
	src/cmd/procedure_doubts.c \
	src/cmd/procedure_doubts.h \
	src/cmd/procedure_file.c \
	src/cmd/procedure_file.h \
	src/cmd/probe.c \
	src/cmd/probe.h \
	src/cmd/probe_compare.c \
	src/cmd/probe_plot.c \
	src/cmd/procedure_new.c \
	src/cmd/procedure_show.c \
	src/cmd/procedure_verb.h \
	src/cmd/rig.c \
	src/cmd/rig.h \
	src/cmd/setup.c \
	src/cmd/setup.h \
	src/cmd/simulate.c \
	src/cmd/steps.c \
	src/cmd/steps.h \
	src/cmd/suggest.c \
	src/cmd/suggest.h \
	src/cmd/table.c \
	src/cmd/table.h \
	src/cmd/targets.c \
	src/cmd/targets.h \
	src/cmd/thickness.c \
	src/cmd/thickness_budget.c \
	src/cmd/thickness_budget.h \
	src/cmd/time_base.h \
	src/cmd/truth.c \
	src/cmd/truth.h \
	src/cmd/utf8.c \
	src/cmd/utf8.h \
	src/cmd/verb.h \
	src/cmd/verbs.c \
	$(END)
src_cmd_libcmd_la_CFLAGS = $(BASE_CFLAGS) $(FFTW_CFLAGS) $(GSL_CFLAGS)

bin_PROGRAMS = plyecho
plyecho_SOURCES = \
	src/cmd/main.c
plyecho_CFLAGS = $(BASE_CFLAGS) $(FFTW_CFLAGS) $(GSL_CFLAGS)
plyecho_LDFLAGS = $(BASE_LDFLAGS)
plyecho_LDADD = src/cmd/libcmd.la libplyecho.la $(FFTW_LIBS) $(GSL_LIBS) -lm
