bin_PROGRAMS = plyecho
plyecho_SOURCES = \
	src/cmd/main.c
plyecho_CFLAGS = $(AM_CFLAGS) $(FFTW_CFLAGS)
plyecho_LDADD = libplyecho.la $(FFTW_LIBS) -lm
