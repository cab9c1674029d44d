/* The codes differ little between NOAA's files; what differs is where they stand. */
#include "ingest/isd_codes.h"

#include <string.h>

bool stv__isd_is_good(char quality)
{
    return quality && strchr("01459ACIMPRU", quality);
}

uint8_t stv__isd_rank(struct stv_slice report_type)
{
    static const char *const routine[] = {"FM-15", "FM15", "FM-12", "FM12", "AUTO", "CRN"};
    for (size_t i = 0; i < sizeof routine / sizeof routine[0]; i++)
        if (stv_slice_starts(report_type, routine[i]))
            return 0;
    return 1;
}

bool stv__isd_is_summary(struct stv_slice report_type)
{
    return stv_slice_starts(report_type, "SOD") || stv_slice_starts(report_type, "SOM");
}
