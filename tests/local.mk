# Unit tests: one program a module, linked with the library's core.
if HAVE_CMOCKA
UNIT_TESTS = \
	tests/unit/test_error
check_PROGRAMS += $(UNIT_TESTS)
TESTS += $(UNIT_TESTS)
endif
UNIT_CFLAGS = $(AM_CFLAGS) $(CMOCKA_CFLAGS) -I$(top_srcdir)/src/lib
UNIT_LIBS = src/lib/libcore.la $(CMOCKA_LIBS) -lm

tests_unit_test_error_CFLAGS = $(UNIT_CFLAGS)
tests_unit_test_error_LDADD = $(UNIT_LIBS)
