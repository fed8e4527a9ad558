#include <plyecho/date.h>

#include <string.h>

/* Does it follow the form, in which # is a digit? */
static bool has_form(const char *text, size_t size, const char *form)
{
    for (size_t i = 0; i < size; i++) {
        bool digit = text[i] >= '0' && text[i] <= '9';
        if (form[i] == '#' ? !digit : text[i] != form[i])
            return false;
    }
    return true;
}

static int number(const char *text, size_t from, size_t digits)
{
    int value = 0;
    for (size_t i = from; i < from + digits; i++)
        value = 10 * value + (text[i] - '0');
    return value;
}

static bool is_day(const char *text, size_t size)
{
    if (size < 10 || !has_form(text, 10, "####-##-##"))
        return false;
    int year = number(text, 0, 4), month = number(text, 5, 2), day = number(text, 8, 2);
    int leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    int days = month == 2 ? 28 + leap : 30 + (month + month / 8) % 2;
    return month >= 1 && month <= 12 && day >= 1 && day <= days;
}

/* Length of the time of day at the start of text, 0 where there is none. */
static size_t time_size(const char *text, size_t size)
{
    if (size < 6 || !has_form(text, 6, "T##:##") || number(text, 1, 2) > 23 ||
        number(text, 4, 2) > 59)
        return 0;
    if (size < 9 || text[6] != ':')
        return 6;
    return has_form(text + 6, 3, ":##") && number(text, 7, 2) < 60 ? 9 : 0;
}

static bool is_zone(const char *text, size_t size)
{
    if (size == 0 || (size == 1 && text[0] == 'Z'))
        return true;
    return size == 6 && (text[0] == '+' || text[0] == '-') && has_form(text + 1, 5, "##:##") &&
           number(text, 1, 2) < 24 && number(text, 4, 2) < 60;
}

bool plyecho_date_is(const char *text, size_t size)
{
    if (!is_day(text, size))
        return false;
    if (size == 10)
        return true;
    size_t time = time_size(text + 10, size - 10);
    return time > 0 && is_zone(text + 10 + time, size - 10 - time);
}

/* Years begin in March, so that the leap day is their last. */
long plyecho_date_days(const char *text)
{
    long month = number(text, 5, 2), year = number(text, 0, 4) - (month < 3);
    long since_march = (month + 9) % 12;
    long of_year = (153 * since_march + 2) / 5 + number(text, 8, 2) - 1;
    return 365 * year + year / 4 - year / 100 + year / 400 + of_year - 719468;
}

/* ---- which came first ---- */

/* Seconds since 1970 within which a date lies, both ends of it. */
struct span_of_time {
    long from, to;
    bool zone; /* in UTC; else in some local time */
};

static struct span_of_time span_of_time(const char *text)
{
    enum { MINUTE = 60, HOUR = 60 * MINUTE, DAY = 24 * HOUR };
    long day = plyecho_date_days(text) * DAY;
    size_t size = strlen(text), time = time_size(text + 10, size - 10);
    if (time == 0)
        return (struct span_of_time){day, day + DAY - 1, false};
    const char *zone = text + 10 + time;
    long at = day + number(text, 11, 2) * HOUR + number(text, 14, 2) * MINUTE;
    long precision = time > 6 ? 0 : MINUTE - 1;
    if (time > 6)
        at += number(text, 17, 2);
    if (zone[0] == '+' || zone[0] == '-') {
        long offset = number(zone, 1, 2) * HOUR + number(zone, 4, 2) * MINUTE;
        at += zone[0] == '+' ? -offset : offset;
    }
    return (struct span_of_time){at, at + precision, zone[0] != '\0'};
}

/* Local time as UTC: what it may be anywhere. */
static void widen(struct span_of_time *s)
{
    s->from -= 14L * 3600;
    s->to += 12L * 3600;
}

int plyecho_date_order(const char *a, const char *b)
{
    struct span_of_time one = span_of_time(a), other = span_of_time(b);
    if (one.zone != other.zone)
        widen(one.zone ? &other : &one);
    return one.to < other.from ? -1 : one.from > other.to ? 1 : 0;
}
