/* Assertions for numbers, on top of cmocka: cmocka's own float macros compare as float. */
#ifndef STV_TESTS_CHECK_H
#define STV_TESTS_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#include "model/status.h"

/* Fails unless |got - want| <= max(rel |want|, abs); NaN passes only when NaN is wanted. */
static inline void stv_check_close(double got, double want, double rel, double abs_tol,
                                   const char *file, int line)
{
    double room = fmax(rel * fabs(want), abs_tol);
    int same = got == want || (isnan(got) && isnan(want));
    if (same || fabs(got - want) <= room)
        return;
    print_error("%s:%d: got %.17g, want %.17g (allowed %.3g)\n", file, line, got, want, room);
    _fail(file, line);
}

static inline void stv_check_status(enum stv_status got, enum stv_status want, const char *file,
                                    int line)
{
    if (got == want)
        return;
    print_error("%s:%d: status \"%s\", want \"%s\"\n", file, line, stv_status_text(got),
                stv_status_text(want));
    _fail(file, line);
}

#define stv_assert_close(got, want, rel, abs_tol)                                                 \
    stv_check_close((got), (want), (rel), (abs_tol), __FILE__, __LINE__)
#define stv_assert_status(got, want) stv_check_status((got), (want), __FILE__, __LINE__)
#define stv_assert_ok(got) stv_check_status((got), STV_OK, __FILE__, __LINE__)

#endif
