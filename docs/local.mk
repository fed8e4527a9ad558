# Pages that get installed.
dist_doc_DATA += \
	docs/columns.md \
	docs/compare.md \
	docs/dependencies.md \
	docs/file-formats.md \
	docs/method.md \
	docs/planning.md \
	docs/procedure.md \
	docs/readings.md \
	docs/report.md \
	docs/scan.md \
	docs/walk-through.md \
	$(END)

# The verbs' sections are what the program says with --help, so that they cannot go stale.
man_MANS = docs/plyecho.1
EXTRA_DIST += docs/make-man.sh docs/plyecho.1.in
CLEANFILES += docs/plyecho.1
docs/plyecho.1: docs/plyecho.1.in docs/make-man.sh plyecho$(EXEEXT)
	$(AM_V_GEN)$(MKDIR_P) docs && \
	$(SHELL) $(srcdir)/docs/make-man.sh ./plyecho$(EXEEXT) $(srcdir)/docs/plyecho.1.in > $@.tmp && \
	mv $@.tmp $@
