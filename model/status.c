#include "model/status.h"

const char *stv_status_text(enum stv_status status)
{
    switch (status) {
#define STV_STATUS_CASE(name, value, text) \
    case STV_##name:                       \
        return text;
        STV_STATUS_TABLE(STV_STATUS_CASE)
#undef STV_STATUS_CASE
    }
    return "unknown status";
}
