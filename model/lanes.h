/* Shared inside model/: eight trials side by side.  GCC's vector types, so that one source serves
 * every width of the machine; lanes never mix, so the width does not change a bit. */
#ifndef STV_MODEL_LANES_H
#define STV_MODEL_LANES_H

#include <stddef.h>
#include <stdint.h>
#include <string.h>

/* Climate members, each of its own temperature, humidity, years and wood energies: one lane each
 * of every table.  A packet of trials is half of them. */
enum { STV__LANES = 16, STV__PACKET = 8, STV__PACKETS = STV__LANES / STV__PACKET };

typedef double stv__v8 __attribute__((vector_size(64)));
typedef float stv__v8f __attribute__((vector_size(32)));
typedef int32_t stv__i8 __attribute__((vector_size(32)));
typedef int64_t stv__m8 __attribute__((vector_size(64)));

/* Wider code where the machine has it, chosen when the program starts.  Not under the sanitizers,
 * whose start-up the choice would come before. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__)
#define STV__WIDE __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define STV__WIDE
#endif
#define STV__INLINE static inline __attribute__((always_inline))

STV__INLINE stv__v8 stv__all(double value)
{
    return (stv__v8){value, value, value, value, value, value, value, value};
}

/* a where the mask is set, else b. */
STV__INLINE stv__v8 stv__pick(stv__m8 mask, stv__v8 a, stv__v8 b)
{
    return (stv__v8)((mask & (stv__m8)a) | (~mask & (stv__m8)b));
}

STV__INLINE int stv__any(stv__m8 mask)
{
    int64_t any = 0;
    for (int l = 0; l < STV__PACKET; l++)
        any |= mask[l];
    return any != 0;
}

STV__INLINE stv__v8 stv__least(stv__v8 a, stv__v8 b)
{
    return stv__pick(a < b, a, b);
}

STV__INLINE stv__v8 stv__most(stv__v8 a, stv__v8 b)
{
    return stv__pick(a > b, a, b);
}

STV__INLINE double stv__most_lane(stv__v8 a)
{
    double most = a[0];
    for (int l = 1; l < STV__PACKET; l++)
        most = a[l] > most ? a[l] : most;
    return most;
}

STV__INLINE stv__v8 stv__root(stv__v8 a)
{
    stv__v8 root;
    for (int l = 0; l < STV__PACKET; l++)
        root[l] = __builtin_sqrt(a[l]);
    return root;
}

/* e^x for -700..700, held at these ends.  x = n ln 2 + r with |r| <= ln 2 / 2, where twelve terms
 * of the series leave 2e-16. */
STV__INLINE stv__v8 stv__exp(stv__v8 x)
{
    const double log2e = 1.4426950408889634074, ln2_high = 6.93147180369123816490e-01,
                 ln2_low = 1.90821492927058770002e-10, shifter = 6755399441055744.0;
    x = stv__least(stv__all(700.0), stv__most(stv__all(-700.0), x));
    stv__v8 shifted = x * log2e + shifter;
    stv__v8 n = shifted - shifter;
    stv__v8 r = x - n * ln2_high - n * ln2_low;
    stv__v8 sum = stv__all(1.0 / 479001600.0);
    sum = sum * r + 1.0 / 39916800.0;
    sum = sum * r + 1.0 / 3628800.0;
    sum = sum * r + 1.0 / 362880.0;
    sum = sum * r + 1.0 / 40320.0;
    sum = sum * r + 1.0 / 5040.0;
    sum = sum * r + 1.0 / 720.0;
    sum = sum * r + 1.0 / 120.0;
    sum = sum * r + 1.0 / 24.0;
    sum = sum * r + 1.0 / 6.0;
    sum = sum * r + 0.5;
    sum = sum * r + 1.0;
    sum = sum * r + 1.0;
    stv__m8 power = ((stv__m8)shifted << 52) + ((int64_t)1023 << 52);
    return sum * (stv__v8)power;
}

STV__INLINE stv__v8f stv__load_f(const float *values)
{
    stv__v8f value;
    memcpy(&value, values, sizeof value);
    return value;
}

/* Turns eight vectors of eight: element j of rows[i] becomes element i of out[j]. */
STV__INLINE void stv__turn(const stv__v8f rows[8], stv__v8f out[8])
{
    typedef int32_t pattern __attribute__((vector_size(32)));
    const pattern low = {0, 8, 1, 9, 4, 12, 5, 13}, high = {2, 10, 3, 11, 6, 14, 7, 15};
    const pattern near = {0, 1, 8, 9, 4, 5, 12, 13}, far = {2, 3, 10, 11, 6, 7, 14, 15};
    const pattern front = {0, 1, 2, 3, 8, 9, 10, 11}, back = {4, 5, 6, 7, 12, 13, 14, 15};
    stv__v8f twos[8], fours[8];
    for (int i = 0; i < 8; i += 2) {
        twos[i] = __builtin_shuffle(rows[i], rows[i + 1], low);
        twos[i + 1] = __builtin_shuffle(rows[i], rows[i + 1], high);
    }
    for (int i = 0; i < 8; i += 4)
        for (int j = 0; j < 2; j++) {
            fours[i + 2 * j] = __builtin_shuffle(twos[i + j], twos[i + j + 2], near);
            fours[i + 2 * j + 1] = __builtin_shuffle(twos[i + j], twos[i + j + 2], far);
        }
    for (int j = 0; j < 4; j++) {
        out[j] = __builtin_shuffle(fours[j], fours[j + 4], front);
        out[j + 4] = __builtin_shuffle(fours[j], fours[j + 4], back);
    }
}

STV__INLINE stv__v8 stv__load(const double *values)
{
    stv__v8 value;
    memcpy(&value, values, sizeof value);
    return value;
}

STV__INLINE void stv__store(stv__v8 value, double *out)
{
    memcpy(out, &value, sizeof value);
}

#endif
