/* Makes the invented weather and logger files of Quill Basin: no real place, no measured number.
 *
 *     cc -std=c17 -O2 -ffp-contract=off generate.c -o generate && ./generate FOLDER
 *
 * writes FOLDER/weather/basin.csv and FOLDER/loggers/tier1.csv to tier6.csv; both folders must
 * exist.  The same bytes come out everywhere: chance is a xorshift generator with a fixed seed,
 * and sine and exponential are made here from plus, times and divide, which round alike on every
 * IEEE machine (with -ffp-contract=off), so that no mathematics library has a say.
 *
 * Outdoors is a season, a day, and weather that remembers (first-order noise).  Indoors each tier
 * is outdoor air through filters, with a summer gradient of about 0.5 K/m and none in winter, and
 * vapour between outdoor air and a damp floor.  The loggers add noise, and the ordinary faults
 * that plant_fault names.  No building physics is solved: these are files to read, not an answer.
 */
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define SEED UINT64_C(20271212)
#define FIRST_YEAR 2022
#define N_HOURS (24 * 2160)      /* 2022-01-01 to 2027-11-30 */
#define LOGGERS_FROM (24 * 1734) /* 2026-10-01 */
#define N_TIERS 6
#define LATITUDE_DEG 35.2
#define SOLAR_LAG_H 0.78 /* the sun at 101.7 W behind the clock of 90 W */

/* One hour outdoors. */
struct outdoor {
    double temp_c, dew_point_c, wind_m_s, sun_w_m2;
};

/* One hour at one tier. */
struct indoor {
    double temp_c, rh_pct;
};

static struct outdoor outdoors[N_HOURS];
static struct indoor indoors[N_TIERS][N_HOURS];
static uint64_t chance = SEED;

/* Marsaglia's xorshift with Vigna's multiplier; 53 bits, 0 <= u < 1. */
static double uniform(void)
{
    chance ^= chance >> 12;
    chance ^= chance << 25;
    chance ^= chance >> 27;
    return (double)((chance * UINT64_C(2685821657736338717)) >> 11) / 9007199254740992.0;
}

/* Sum of twelve: mean 0, variance 1, and no logarithm. */
static double normal(void)
{
    double sum = -6.0;
    for (int i = 0; i < 12; i++)
        sum += uniform();
    return sum;
}

/* sin of `turns` whole turns, by the series on a quarter. */
static double sine(double turns)
{
    turns -= (double)(int64_t)turns;
    if (turns < 0.0)
        turns += 1.0;
    if (turns > 0.75)
        turns -= 1.0;
    else if (turns > 0.25)
        turns = 0.5 - turns;
    double x = 6.283185307179586 * turns, term = x, sum = x;
    for (int i = 1; i < 10; i++) {
        term *= -x * x / (double)(2 * i * (2 * i + 1));
        sum += term;
    }
    return sum;
}

static double cosine(double turns)
{
    return sine(turns + 0.25);
}

/* e^x by the series of x/256, squared eight times. */
static double exponential(double x)
{
    double y = x / 256.0, term = 1.0, sum = 1.0;
    for (int i = 1; i < 10; i++) {
        term *= y / (double)i;
        sum += term;
    }
    for (int i = 0; i < 8; i++)
        sum *= sum;
    return sum;
}

static double within(double value, double least, double most)
{
    return value < least ? least : value > most ? most : value;
}

/* Saturation pressure, hPa: Magnus form of WMO-No. 8 (from memory). */
static double saturation_hpa(double temp_c)
{
    return 6.112 * exponential(17.62 * temp_c / (243.12 + temp_c));
}

/* Noise with memory: decays over memory_h and keeps a standard deviation of 1. */
static void drift(double *noise, double memory_h)
{
    double keep = exponential(-1.0 / memory_h), fresh2 = 1.0 - keep * keep, fresh = 1.0;
    for (int i = 0; i < 30; i++) /* Newton's square root */
        fresh = 0.5 * (fresh + fresh2 / fresh);
    *noise = keep * *noise + fresh * normal();
}

/* Moves a first-order filter one hour on. */
static void filter(double *state, double value, double time_constant_h)
{
    *state += (value - *state) * (1.0 - exponential(-1.0 / time_constant_h));
}

/* Clear sky of Haurwitz 1945 (from memory), dimmed by cloud; equation of time left out. */
static double sun_w_m2(double day_of_year, double hour, double cloud)
{
    double tilt = 23.44 / 360.0 * -cosine((day_of_year + 10.0) / 365.25);
    double up =
        sine(LATITUDE_DEG / 360.0) * sine(tilt) +
        cosine(LATITUDE_DEG / 360.0) * cosine(tilt) * cosine((hour - SOLAR_LAG_H - 12.0) / 24.0);
    if (up < 0.01)
        return 0.0;
    return 1098.0 * up * exponential(-0.057 / up) * (1.0 - 0.7 * cloud * cloud);
}

static bool is_leap(int year)
{
    return year % 4 == 0;
}

/* Calendar of a day counted from 1 January FIRST_YEAR. */
struct date {
    int year, month, day, day_of_year;
};

static struct date date_of(int day)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    struct date date = {FIRST_YEAR, 1, 1, 0};
    while (day >= 365 + is_leap(date.year))
        day -= 365 + is_leap(date.year++);
    date.day_of_year = day;
    for (int i = 0; day >= lengths[i] + (i == 1 && is_leap(date.year)); i++) {
        day -= lengths[i] + (i == 1 && is_leap(date.year));
        date.month++;
    }
    date.day = day + 1;
    return date;
}

static void make_outdoors(void)
{
    static const double year_k[] = {0.2, -0.5, 0.5, -0.2, 0.1, 0.8}; /* 2027 is a hot one */
    double front = 0.0, spell = 0.0, sky = 0.0, damp = 0.0, gust = 0.0;
    for (int k = 0; k < N_HOURS; k++) {
        struct date date = date_of(k / 24);
        double hour = (double)(k % 24) + 0.5, day = (double)date.day_of_year + hour / 24.0;
        double summer = 0.5 - 0.5 * cosine((day - 20.0) / 365.25); /* 0 in January, 1 in July */
        drift(&front, 60.0);
        drift(&spell, 600.0);
        drift(&sky, 20.0);
        drift(&damp, 80.0);
        drift(&gust, 9.0);
        double cloud = within(0.48 - 0.22 * summer + 0.36 * sky, 0.0, 1.0);
        double swing_k = (5.4 + 1.8 * summer) * (1.15 - 0.6 * cloud);
        double day_shape = cosine((hour - 15.4) / 24.0) + 0.13 * cosine((hour - 15.0) / 12.0);
        double temp_c = 0.9 + 28.2 * summer + year_k[date.year - FIRST_YEAR] +
                        (4.3 - 3.0 * summer) * front + 0.7 * spell + swing_k * day_shape;
        double dew_c = -5.6 + 21.0 * (0.5 - 0.5 * cosine((day - 32.0) / 365.25)) + 3.2 * damp +
                       1.6 * (1.0 - summer) * front + 3.0 * (cloud - 0.4);
        double wind_m_s = 4.5 + 1.3 * cosine((hour - 15.0) / 24.0) +
                          0.8 * sine((day - 5.0) / 365.25) + 1.7 * gust;
        outdoors[k] = (struct outdoor){temp_c, within(dew_c, -25.0, temp_c - 0.4),
                                       within(wind_m_s, 0.2, 25.0), sun_w_m2(day, hour, cloud)};
    }
}

static void make_indoors(void)
{
    double fast_c = 4.0, day_c = 4.0, week_c = 4.0, ground_c = 9.0;
    double sun3 = 100.0, sun24 = 100.0, vapour_hpa = 5.0;
    double held_pct[N_TIERS] = {55.0, 55.0, 55.0, 55.0, 55.0, 55.0};
    for (int k = 0; k < N_HOURS; k++) {
        const struct outdoor *out = &outdoors[k];
        filter(&fast_c, out->temp_c, 3.0);
        filter(&day_c, out->temp_c, 30.0);
        filter(&week_c, out->temp_c, 150.0);
        filter(&ground_c, out->temp_c, 1400.0);
        filter(&sun3, out->sun_w_m2, 3.0);
        filter(&sun24, out->sun_w_m2, 30.0);
        filter(&vapour_hpa, saturation_hpa(out->dew_point_c), 30.0);
        double warm = within((week_c - 12.0) / 15.0, 0.0, 1.0);
        double gradient_k_m = 0.5 * warm * within(sun24 / 300.0, 0.5, 1.3);
        double floor_hpa = 0.9 * saturation_hpa(0.5 * (week_c + ground_c));
        for (int i = 0; i < N_TIERS; i++) {
            double up = (double)i / (N_TIERS - 1), height_m = 1.4 * ((double)i - 2.5);
            double temp_c = 0.4 * day_c + 0.6 * week_c + 0.2 + 0.6 * warm +
                            gradient_k_m * height_m + (0.12 + 0.25 * up) * (fast_c - day_c) +
                            2.6 * up * up * (sun3 - sun24) / 400.0;
            double share = 0.56 - 0.26 * up; /* of the damp floor */
            double inside_hpa = (1.0 - share) * vapour_hpa + share * floor_hpa;
            double rh_pct = within(100.0 * inside_hpa / saturation_hpa(temp_c), 8.0, 96.0);
            filter(&held_pct[i], rh_pct, 100.0);
            indoors[i][k] = (struct indoor){temp_c, 0.5 * (rh_pct + held_pct[i])};
        }
    }
}

static FILE *open_file(const char *folder, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    if (!file) {
        perror(path);
        exit(EXIT_FAILURE);
    }
    fprintf(file, "# invented data made by generate.c (seed %llu): no real place\n",
            (unsigned long long)SEED);
    return file;
}

static void close_file(FILE *file)
{
    bool is_bad = ferror(file) != 0;
    if (fclose(file) != 0 || is_bad) {
        fputs("generate: a file could not be written whole\n", stderr);
        exit(EXIT_FAILURE);
    }
}

/* One decimal, never "-0.0". */
static double tenth(double value)
{
    return value > -0.05 && value < 0.05 ? 0.0 : value;
}

static void write_weather(const char *folder)
{
    FILE *file = open_file(folder, "weather/basin.csv");
    fputs("time,temp_c,dew_point_c,wind_m_s,sun_w_m2\n", file);
    for (int k = 0; k < N_HOURS; k++) {
        struct date date = date_of(k / 24);
        const struct outdoor *out = &outdoors[k];
        fprintf(file, "%04d-%02d-%02d %02d:00,%.1f,%.1f,%.1f,%.0f\n", date.year, date.month,
                date.day, k % 24, tenth(out->temp_c), tenth(out->dew_point_c), out->wind_m_s,
                out->sun_w_m2);
    }
    close_file(file);
}

/* Half hours since LOGGERS_FROM, in standard time. */
#define N_HALVES (2 * (N_HOURS - LOGGERS_FROM))
#define HALF(day, half) (48 * (day) + (half))
#define D_2026_11_01 31
#define D_2027_03_14 164
#define D_2027_07_09 281
#define D_2027_07_19 291
#define D_2027_11_07 402

enum style { STYLE_PLAIN, STYLE_FAHRENHEIT, STYLE_COMMA, STYLE_BARE };

struct logger {
    const char *file, *header;
    enum style style;
    bool is_summer_time; /* writes the wall clock, daylight saving and all */
};

static const struct logger loggers[N_TIERS] = {
    {"loggers/tier1.csv", "time,temperature [C],humidity [%]", STYLE_PLAIN, false},
    {"loggers/tier2.csv", "Date/Time,Temp (F),RH (%)", STYLE_FAHRENHEIT, false},
    {"loggers/tier3.csv", "time;temperature [C];humidity [%]", STYLE_COMMA, false},
    {"loggers/tier4.csv", "time,temperature [C],humidity [%]", STYLE_PLAIN, false},
    {"loggers/tier5.csv", "time,temperature [C]", STYLE_BARE, false},
    {"loggers/tier6.csv", "time,temperature [C],humidity [%]", STYLE_PLAIN, true},
};

/* True while the wall clock of central North America runs an hour ahead (rule since 2007). */
static bool is_ahead(int half)
{
    return half < HALF(D_2026_11_01, 2) ||
           (half >= HALF(D_2027_03_14, 4) && half < HALF(D_2027_11_07, 2));
}

static void format_stamp(const struct logger *logger, int half, char *text, size_t size)
{
    int shown = half + (logger->is_summer_time && is_ahead(half) ? 2 : 0);
    struct date date = date_of(LOGGERS_FROM / 24 + shown / 48);
    snprintf(text, size, "%04d-%02d-%02d %02d:%02d", date.year, date.month, date.day,
             shown % 48 / 2, shown % 2 * 30);
}

/* "21,3" for "21.3". */
static void use_comma(char *text)
{
    for (; *text; text++)
        if (*text == '.')
            *text = ',';
}

static void write_row(FILE *file, const struct logger *logger, const char *stamp, double temp_c,
                      double rh_pct)
{
    char temp[32], rh[32];
    snprintf(temp, sizeof temp, "%.1f",
             tenth(logger->style == STYLE_FAHRENHEIT ? 32.0 + 1.8 * temp_c : temp_c));
    snprintf(rh, sizeof rh, "%.0f", rh_pct);
    if (logger->style == STYLE_COMMA) {
        use_comma(temp);
        fprintf(file, "%s;%s;%s\n", stamp, temp, rh);
    } else if (logger->style == STYLE_BARE) {
        fprintf(file, "%s,%s\n", stamp, temp);
    } else {
        fprintf(file, "%s,%s,%s\n", stamp, temp, rh);
    }
}

/* The planted faults; true when the half hour's own row must not follow. */
static bool plant_fault(FILE *file, int tier, int half, const char *stamp, struct indoor *shown)
{
    switch (tier) {
    case 0: /* humidity of 140 on one afternoon, a stamp written twice */
        if (half == HALF(97, 31))
            shown->rh_pct = 140.0;
        if (half == HALF(220, 9))
            write_row(file, &loggers[0], stamp, shown->temp_c, shown->rh_pct);
        return false;
    case 1: /* a row of text where the battery was changed */
        if (half == HALF(150, 20))
            fputs("battery changed by JM\n", file);
        return false;
    case 2: /* the code of a loose sensor */
        if (half >= HALF(60, 12) && half < HALF(60, 16))
            shown->temp_c = -127.0;
        return false;
    case 3: /* nothing from 9 to 18 July 2027 */
        return half >= HALF(D_2027_07_09, 0) && half < HALF(D_2027_07_19, 0);
    case 4: /* a row cut short: the stamp, then half a number's row */
        if (half != HALF(300, 40))
            return false;
        fprintf(file, "%.13s\n", stamp);
        return true;
    default:
        return false;
    }
}

static void write_logger(const char *folder, int tier)
{
    const struct logger *logger = &loggers[tier];
    FILE *file = open_file(folder, logger->file);
    fprintf(file, "%s\n", logger->header);
    double wander = 0.0;
    for (int half = 0; half < N_HALVES; half++) {
        int k = LOGGERS_FROM + half / 2, next = k + 1 < N_HOURS ? k + 1 : k;
        double share = 0.25 + 0.5 * (double)(half % 2); /* the middle of the half hour */
        const struct indoor *a = &indoors[tier][k], *b = &indoors[tier][next];
        drift(&wander, 40.0);
        struct indoor shown = {
            a->temp_c + share * (b->temp_c - a->temp_c) + 0.12 * wander + 0.06 * normal(),
            within(a->rh_pct + share * (b->rh_pct - a->rh_pct) - 0.6 * wander + 0.4 * normal(), 5.0,
                   99.0)};
        char stamp[32];
        format_stamp(logger, half, stamp, sizeof stamp);
        if (!plant_fault(file, tier, half, stamp, &shown))
            write_row(file, logger, stamp, shown.temp_c, shown.rh_pct);
    }
    close_file(file);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fputs("usage: generate FOLDER   (holding the folders weather and loggers)\n", stderr);
        return 2;
    }
    make_outdoors();
    make_indoors();
    write_weather(argv[1]);
    for (int tier = 0; tier < N_TIERS; tier++)
        write_logger(argv[1], tier);
    return EXIT_SUCCESS;
}
