# Demonstration traces: made by traces/make.sh, compared by a test.
DEMO_TRACES = \
	traces/reference.wav \
	traces/sleeve.ini \
	traces/tricycle.ini \
	traces/tricycle1-ring1.wav \
	traces/tricycle1-ring2.wav \
	traces/tricycle1-ring3.csv \
	traces/tricycle2-ring1.wav \
	traces/tricycle2-ring2.csv \
	traces/tricycle3-ring1.wav \
	traces/tricycle3-ring2.wav \
	traces/tricycle3-ring3.wav \
	traces/tricycle4-ring1.wav \
	traces/truth.csv \
	$(END)
EXTRA_DIST += traces/README.md traces/demo.sh traces/fleet traces/fleet.sh traces/make.sh traces/truth.sh \
	$(DEMO_TRACES)

.PHONY: update-traces
update-traces: plyecho$(EXEEXT)
	$(srcdir)/traces/make.sh ./plyecho$(EXEEXT) $(srcdir)/traces
