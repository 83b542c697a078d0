/* A slip walked through the tree of situations.
 *
 * Only the units that a slip can have changed are run, those at work; what all others do is known from the run of the
 * right wiring. Within a step units take turns as the plain machine's do (circuit/machine.py): islands follow at once,
 * all devices that have seen the changes of one round act together, and what they do is the next round's change;
 * delays run out when nothing else moves. Where one of those at work does something else than in the right wiring, all
 * that read it come to work too, and the step is taken again. Steps in which nothing moves that those at work read are
 * passed over.
 *
 * Values are known by numbers, equal values by one number. What a unit answers is remembered under what it has read,
 * so that a device's rule, which is Python, is asked once for each thing it can meet.
 *
 * board.py lays out the arrays; compiled.py reads the struct's fields off this file.
 */
#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

typedef double complex phasor;
typedef int32_t i4;
typedef int64_t i8;
typedef uint64_t u8;
typedef uint16_t u2;
typedef uint8_t flag;

enum { ISLAND, RULE, SUM, GONE };                     /* kinds of units */
enum { PLAIN, AC, WORD };                             /* forms of a value */
enum { RAW_AC, RAW_DC, LEVELS, SIGNED, ASKED };       /* how a reading is looked at */
enum { DONE, FULL, STIFF, FAILED, SUMS_COUNT };       /* how a walk ends */
enum { MAX_TURNS = 60, MAX_MOMENTS = 24, MANY = 64 };
#define MAX_CONDUCTANCE 1e4

typedef i4 (*Ask)(i4 unit, i4 n, const i4 *key, i4 *given);

/* A slot takes a value: seconds since the step's events, and round; and a mark of all that. */
typedef struct {
    double s;
    u8 mark;
    i4 slot, turn, value, spare;
} Change;

/* What a slot can do within a step of the right wiring: mark of all its changes, where they stand, and how many. */
typedef struct {
    u8 mark;
    i4 slot, at, n, spare;
} Move;

/* What is told of a slot that goes another way: a change, or with a value below zero that it may have moved otherwise. */
typedef struct {
    double s;
    i4 step, slot, turn, value;
} Told;

/* A step taken before in this walk: where what it did stands. */
typedef struct {
    u8 mark;
    i4 run, at, n, spare;
} Taken;

typedef struct {
    /* sizes */
    i8 n_steps, n_slots, n_units, words, memo_size, memo_rows, value_size, value_most, out_most, event_most;
    i8 taken_size, again_most, asked_size, put_off_most, ins_used, outs_used, ins_most, outs_most;
    /* what moves while walking */
    i8 n_values, memo_used, rows_used, at_work, n_written, n_heard, n_events, n_base, n_agenda, n_out, n_moved;
    i8 placed_n, run, n_taken, n_again, sums, restless_seen, asked_n, placed_island;
    i8 set_now, set_next;
    Change *did;
    i8 n_put_off, stood, stood_set, n_changed, slot_words, known_size, n_columns;
    u8 before_mark, now_mark;
    Ask ask;
    /* values */
    double *re, *im;
    flag *form;
    i4 *value_at;
    double *after_s;
    i4 *after_v;
    /* memo */
    u8 *memo_mark;
    i4 *memo_at, *rows;
    /* units */
    flag *kind, *swapped;
    i4 *law, *in_at, *in_n, *ins, *out_at, *out_n, *outs, *reader_at, *readers, *more_at, *more, *writer;
    double *level_of_sum;
    /* islands */
    i4 *isle_int, *isle_float, *ints;
    double *floats;
    /* tree */
    i4 *parent, *end, *row, *row_at, *column_at, *right_value, *event_at, *event_slot, *event_turn, *event_value;
    double *event_s;
    u2 *right_rows;
    u8 *bits, *unit_bits, *right_bits;
    /* what moves in a step is one of a few lists of moves by slot: slots as bits, and for each word the first's place */
    u8 *moving;
    i4 *by_slot, *list_of, *list_at, *move_at, *moves_in, *slots_in, *known_moves, *known_lists;
    Move *moves;
    /* walk */
    i4 *now, *before, *saved, *node, *crew, *crew_n, *own_crew, *own_saved, *stood_in, *stood_out, *stood_unit;
    i4 *placed, *working, *written, *heard;
    flag *works, *ever, *role, *awake, *queued, *follows, *restless;
    u8 *touched, *salt, *mine, *theirs, *heard_bits, *written_bits;
    i4 *watch;
    flag *pending;
    double *due_s;
    i4 *due, *waiting, *queue, *woken, *following, *moved, *move_value, *changed, *told_slot;
    i8 *column;
    u8 *told_mark;
    Change *step, *again, *changes;
    i4 *agenda, *base;
    Told *out, *told_of;
    Taken *taken;
    i4 *key, *given, *asked;
    i8 *asked_run, *asked_place, *crew_set, *followed;
    double *largest, *own;
    /* solving */
    i4 *parent_of, *root_of, *group, *spot, *end_a, *end_b, *dc_a, *dc_b, *from_, *to;
    flag *fixed, *held, *live, *seen, *loose_ac, *loose_dc;
    phasor *held_ac, *held_dc, *ac, *dc, *y_ac, *y_dc, *j_ac, *j_dc, *matrix, *read_ac;
    double *read_dc, *values;
} Board;

/* numbers ------------------------------------------------------------------------------------------------------ */

static inline u8 mixed(u8 h, u8 x) {
    h = (h ^ x) * 0x9E3779B97F4A7C15u;
    return h ^ (h >> 29);
}

static inline u8 bits_of(double x) {
    u8 b;
    memcpy(&b, &x, 8);
    return b;
}

/* Number of a value; a new one if need be; -1 when there is no room. */
i4 number_of(Board *b, i4 form, double re, double im) {
    re += 0.0;
    im += 0.0;
    u8 mask = (u8)b->value_size - 1;
    u8 p = mixed(mixed(17 + (u8)form, bits_of(re)), bits_of(im)) & mask;
    for (; b->value_at[p] >= 0; p = (p + 1) & mask) {
        i4 n = b->value_at[p];
        if (b->form[n] == form && b->re[n] == re && b->im[n] == im) return n;
    }
    i4 n = (i4)b->n_values;
    if (n >= b->value_most) return -1;
    b->re[n] = re;
    b->im[n] = im;
    b->form[n] = (flag)form;
    b->value_at[p] = n;
    b->n_values = n + 1;
    return n;
}

static u8 marked(const i4 *key, i4 n) {
    u8 h = (u8)n;
    for (i4 i = 0; i < n; i++) h = mixed(h, (u8)key[i]);
    return h;
}

/* Where what was given to a key begins in the rows, or -1. */
static i8 found(const Board *b, const i4 *key, i4 n, u8 h) {
    u8 mask = (u8)b->memo_size - 1;
    for (u8 p = h & mask; b->memo_at[p]; p = (p + 1) & mask) {
        i4 at = b->memo_at[p];
        if (b->memo_mark[p] == h && b->rows[at] == n && !memcmp(b->rows + at + 1, key, 4 * (size_t)n))
            return at + 1 + n;
    }
    return -1;
}

/* Keep what was given to a key; -1 when there is no room. */
static i8 kept(Board *b, const i4 *key, i4 n, u8 h, const i4 *given, i4 m) {
    i8 at = b->rows_used;
    if (at + n + m + 1 > b->memo_rows || 2 * b->memo_used >= b->memo_size) return -1;
    u8 mask = (u8)b->memo_size - 1, p = h & mask;
    while (b->memo_at[p]) p = (p + 1) & mask;
    b->memo_at[p] = (i4)at;
    b->memo_mark[p] = h;
    b->rows[at] = n;
    memcpy(b->rows + at + 1, key, 4 * (size_t)n);
    memcpy(b->rows + at + 1 + n, given, 4 * (size_t)m);
    b->memo_used++;
    b->rows_used = at + 1 + n + m;
    return at + 1 + n;
}

/* islands ------------------------------------------------------------------------------------------------------ */

static inline i4 root(const i4 *parent, i4 i) {
    while (parent[i] != i) i = parent[i];
    return i;
}

static inline double size_of(phasor v) { return hypot(creal(v), cimag(v)); }

static inline double square(phasor v) { return creal(v) * creal(v) + cimag(v) * cimag(v); }

static inline double steady(double x) { return floor(x * 1e9 + 0.5) / 1e9; }

/* Nodal analysis; see circuit/island.py. What hangs on nothing is told where anyone asks. */
static void nodal(Board *b, i4 total, i4 n_e, const i4 *ea, const i4 *eb, const phasor *y, i4 n_j, const phasor *j,
                  const phasor *held_v, phasor *volts, flag *floats) {
    i4 *parent = b->group, *place = b->spot, *at_root = b->root_of;
    flag *fixed = b->fixed, *held = b->held, *live = b->live, *seen = b->seen;
    for (i4 i = 0; i < total; i++) {
        parent[i] = i;
        held[i] = live[i] = seen[i] = 0;
        place[i] = -1;
        volts[i] = 0.0;
        if (floats) floats[i] = 0;
    }
    for (i4 k = 0; k < n_e; k++) {
        if (fixed[ea[k]] || fixed[eb[k]]) continue;
        i4 p = root(parent, ea[k]), q = root(parent, eb[k]);
        if (p < q) parent[q] = p;
        else if (q < p) parent[p] = q;
    }
    for (i4 k = 0; k < n_e; k++)
        if (fixed[ea[k]] != fixed[eb[k]]) {
            i4 r = root(parent, fixed[eb[k]] ? ea[k] : eb[k]);
            held[r] = live[r] = 1;
        }
    for (i4 k = 0; k < n_j; k++)
        if (j[k] != 0.0) {
            if (!fixed[b->from_[k]]) live[root(parent, b->from_[k])] = 1;
            if (!fixed[b->to[k]]) live[root(parent, b->to[k])] = 1;
        }
    i4 n = 0;
    for (i4 i = 0; i < total; i++) {
        if (at_root[i] != i) continue;
        if (fixed[i]) {
            volts[i] = held_v[i];
            continue;
        }
        i4 g = root(parent, i);
        if (floats) floats[i] = !held[g];
        if (!live[g]) continue;
        if (!held[g] && !seen[g]) { /* the first node of a floating group is taken as zero */
            seen[g] = 1;
            continue;
        }
        place[i] = n++;
    }
    if (!n) return;
    i4 w = n + 1;
    phasor *m = b->matrix;
    memset(m, 0, sizeof(phasor) * (size_t)n * (size_t)w);
    for (i4 k = 0; k < n_e; k++) {
        i4 p = ea[k], q = eb[k], ip = place[p], iq = place[q];
        if (ip >= 0) {
            m[ip * w + ip] += y[k];
            if (iq >= 0) m[ip * w + iq] -= y[k];
            else if (fixed[q]) m[ip * w + n] += y[k] * held_v[q];
        }
        if (iq >= 0) {
            m[iq * w + iq] += y[k];
            if (ip >= 0) m[iq * w + ip] -= y[k];
            else if (fixed[p]) m[iq * w + n] += y[k] * held_v[p];
        }
    }
    for (i4 k = 0; k < n_j; k++) {
        i4 p = place[b->from_[k]], q = place[b->to[k]];
        if (p >= 0) m[p * w + n] += j[k];
        if (q >= 0) m[q * w + n] -= j[k];
    }
    i4 *filled = b->group; /* the groups have done their work */
    for (i4 k = 0; k < n; k++) {
        i4 best = k;
        double most = square(m[k * w + k]);
        for (i4 r = k + 1; r < n; r++)
            if (square(m[r * w + k]) > most) {
                most = square(m[r * w + k]);
                best = r;
            }
        if (best != k)
            for (i4 c = k; c <= n; c++) {
                phasor t = m[k * w + c];
                m[k * w + c] = m[best * w + c];
                m[best * w + c] = t;
            }
        const phasor *pivot = m + k * w;
        i4 n_filled = 0;
        for (i4 c = k + 1; c <= n; c++)
            if (pivot[c] != 0.0) filled[n_filled++] = c;
        for (i4 r = k + 1; r < n; r++) {
            phasor *row = m + r * w;
            if (row[k] == 0.0) continue;
            phasor f = row[k] / pivot[k];
            for (i4 i = 0; i < n_filled; i++) row[filled[i]] -= f * pivot[filled[i]];
        }
    }
    for (i4 k = n - 1; k >= 0; k--) {
        phasor v = m[k * w + n];
        for (i4 c = k + 1; c < n; c++)
            if (m[k * w + c] != 0.0) v -= m[k * w + c] * m[c * w + n];
        m[k * w + n] = v / m[k * w + k];
    }
    for (i4 i = 0; i < total; i++)
        if (place[i] >= 0) volts[i] = m[place[i] * w + n];
}

/* What stands for a size among levels; see circuit/rules.py. */
static double looked(double size, const double *bounds, i4 n) {
    i4 i = 0;
    while (i < n && bounds[i] <= size) i++;
    if (!i) return 0.0;
    if (size == bounds[i - 1]) return bounds[i - 1];
    return i < n ? 0.5 * (bounds[i - 1] + bounds[i]) : 2.0 * bounds[i - 1];
}

/* Admittance of a branch with its slot where it stands; see circuit/island.py. */
static inline void admit(const i4 *p, const double *f, const double *value, phasor *y, double *g) {
    *y = f[0] + f[1] * I;
    *g = f[2];
    if (p[2] == 1) {
        *y *= value[p[3]];
        *g *= value[p[3]];
    } else if (p[2] == 2) {
        double ohm = value[p[3]];
        *y = *g = ohm <= 1.0 / MAX_CONDUCTANCE ? MAX_CONDUCTANCE : isinf(ohm) ? 0.0 : 1.0 / ohm;
    }
}

/* What stands for the volts of a three-phase winding among all that turn it alike; see circuit/behaviours/fans.py. */
static void turned(phasor *read, const i4 *at, double rated) {
    phasor *ab = read + at[0], *bc = read + at[1], *ca = read + at[2];
    double x = size_of(*ab), y = size_of(*bc), z = size_of(*ca);
    double most = fmax(x, fmax(y, z)), least = fmin(x, fmin(y, z)), full = most / rated;
    int on_drive = at[3];
    if (full < (on_drive ? 0.08 : 0.8)) {
        *ab = *bc = *ca = 0.0;
    } else if (least < 0.7 * most) {
        *ab = *ca = rated;
        *bc = 0.0;
    } else {
        double u = rated, half = 0.5, high = 0.8660254037844386;
        if (on_drive) u *= fmax(0.99 * rint(fmin(full / 0.99, 1.0) * 100.0) / 100.0, 0.08);
        /* forward: the first pair leads the second */
        if (cimag(*ab * conj(*bc)) <= 0.0) high = -high;
        *ab = u;
        *bc = u * (-half - high * I);
        *ca = u * (-half + high * I);
    }
}

/* An island as packed.py lays it: counts, and where each kind of part begins. */
typedef struct {
    i4 n_free, n_fixed, n_links, n_branches, n_sources, n_read, n_drawn, n_motors, n_edges_dc;
    const i4 *links, *fixed, *branches, *sources, *reads;
    const double *fixed_f, *branches_f, *sources_f, *reads_f;
    int in_ac, in_dc;
} Isle;

static Isle isle_of(const i4 *p, const double *f) {
    Isle s = {p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], 0, p + 8, 0, 0, 0, 0, f, 0, 0, 0, 0, 0};
    s.fixed = p = s.links + 3 * s.n_links;
    for (i4 i = 0; i < s.n_fixed; i++) p += 1 + p[0];
    s.branches = p;
    s.sources = s.branches + 4 * s.n_branches;
    s.reads = s.sources + 3 * s.n_sources;
    s.branches_f = f + 3 * s.n_fixed;
    s.sources_f = s.branches_f + 3 * s.n_branches;
    s.reads_f = s.sources_f + 4 * s.n_sources;
    return s;
}

/* Closed links join nodes: the node that stands for each, the highest of those joined, what lies from `top` on as one. */
static void link_up(Board *b, const Isle *s, const double *value, i4 top) {
    i4 *parent = b->parent_of, *at_root = b->root_of, total = s->n_free + s->n_fixed;
    for (i4 i = 0; i < total; i++) parent[i] = i < top ? i : top;
    for (i4 k = 0; k < s->n_links; k++) {
        const i4 *link = s->links + 3 * k;
        if (value[link[2]] == 0.0) continue;
        i4 x = root(parent, link[0]), y = root(parent, link[1]);
        if (x < y) parent[x] = y;
        else if (y < x) parent[y] = x;
    }
    for (i4 i = 0; i < total; i++) at_root[i] = root(parent, i);
}

/* Volts of all nodes of an island with its key slots at `value`, in `ac` and `dc` by what stands for each node; what
 * floats where that is asked for; 0, or why not. */
static int settle(Board *b, Isle *s, const double *value, flag *floats_ac, flag *floats_dc) {
    i4 n_free = s->n_free, n_fixed = s->n_fixed, total = n_free + n_fixed, *at_root = b->root_of;
    const i4 *p = s->fixed;
    const double *f = s->fixed_f;
    link_up(b, s, value, total);
    for (i4 i = 0; i < total; i++) {
        b->fixed[i] = 0;
        b->held_ac[i] = b->held_dc[i] = b->ac[i] = b->dc[i] = 0.0;
    }
    for (i4 i = 0; i < n_fixed; i++, p += 1 + p[0], f += 3) {
        double factor = 1.0;
        for (i4 k = 0; k < p[0]; k++) factor *= value[p[1 + k]];
        i4 r = at_root[n_free + i];
        phasor v = (f[0] + f[1] * I) * factor, d = f[2] * factor;
        if (b->fixed[r] && (size_of(b->held_ac[r] - v) > 1e-9 || size_of(b->held_dc[r] - d) > 1e-9)) return STIFF;
        b->fixed[r] = 1;
        b->held_ac[r] = v;
        b->held_dc[r] = d;
        s->in_ac |= v != 0.0;
        s->in_dc |= d != 0.0;
    }
    i4 n_a = 0, n_d = 0;
    p = s->branches;
    f = s->branches_f;
    for (i4 k = 0; k < s->n_branches; k++, p += 4, f += 3) {
        i4 x = at_root[p[0]], y = at_root[p[1]];
        if (x == y) continue;
        phasor ya;
        double g;
        admit(p, f, value, &ya, &g);
        if (ya != 0.0) {
            b->end_a[n_a] = x;
            b->end_b[n_a] = y;
            b->y_ac[n_a++] = ya;
        }
        if (g != 0.0) {
            b->dc_a[n_d] = x;
            b->dc_b[n_d] = y;
            b->y_dc[n_d++] = g;
        }
    }
    p = s->sources;
    f = s->sources_f;
    for (i4 k = 0; k < s->n_sources; k++, p += 3, f += 4) {
        double level = p[2] >= 0 ? value[p[2]] : 1.0, g = 1.0 / f[3];
        i4 x = at_root[p[0]], y = at_root[p[1]];
        if (x != y) {
            b->end_a[n_a] = b->dc_a[n_d] = x;
            b->end_b[n_a] = b->dc_b[n_d] = y;
            b->y_ac[n_a++] = b->y_dc[n_d++] = g;
        }
        b->from_[k] = x;
        b->to[k] = y;
        b->j_ac[k] = (f[0] + f[1] * I) * level * g;
        b->j_dc[k] = f[2] * level * g;
        s->in_ac |= b->j_ac[k] != 0.0;
        s->in_dc |= b->j_dc[k] != 0.0;
    }
    s->n_edges_dc = n_d;
    /* where nothing stands at volts of one form, the other form tells what floats */
    if (s->in_ac || (floats_ac && !s->in_dc))
        nodal(b, total, n_a, b->end_a, b->end_b, b->y_ac, s->n_sources, b->j_ac, b->held_ac, b->ac, floats_ac);
    if (s->in_dc)
        nodal(b, total, n_d, b->dc_a, b->dc_b, b->y_dc, s->n_sources, b->j_dc, b->held_dc, b->dc, floats_dc);
    return DONE;
}

/* Volts of every node of an island, and whether they mean nothing; see circuit/island.py. 0, or why not. */
int stands(Board *b, const i4 *ints, const double *floats, const double *value, phasor *ac, double *dc, flag *loose) {
    Isle s = isle_of(ints, floats);
    int reason = settle(b, &s, value, b->loose_ac, b->loose_dc);
    if (reason) return reason;
    for (i4 i = 0; i < s.n_free + s.n_fixed; i++) {
        i4 r = b->root_of[i];
        ac[i] = b->ac[r];
        dc[i] = creal(b->dc[r]);
        loose[i] = (b->loose_ac[r] || !(s.in_ac || !s.in_dc)) && (b->loose_dc[r] || !s.in_dc);
    }
    return DONE;
}

/* An island with every source dead, the earth and all buses as its last place; see circuit/dead.py. For each place what
 * stands for it, its part, and whether such a part hangs on the earth; and the inverse of the conductances. */
void dead_ways(Board *b, const i4 *ints, const double *floats, const double *value, i4 without, i4 *of, i4 *part,
               flag *grounded, double *inverse) {
    Isle s = isle_of(ints, floats);
    i4 earth = s.n_free, n = 0, m = 0, *kept = b->spot;
    link_up(b, &s, value, earth);
    for (i4 i = 0; i <= earth; i++) {
        of[i] = i < earth ? b->root_of[i] : earth;
        part[i] = i;
        grounded[i] = 0;
    }
    const i4 *p = s.branches;
    const double *f = s.branches_f;
    for (i4 k = 0; k < s.n_branches; k++, p += 4, f += 3) {
        phasor y;
        double g;
        admit(p, f, value, &y, &g);
        b->dc_a[n] = of[p[0] < earth ? p[0] : earth];
        b->dc_b[n] = of[p[1] < earth ? p[1] : earth];
        b->y_dc[n] = g;
        n += k != without && g > 0.0 && b->dc_a[n] != b->dc_b[n];
    }
    p = s.sources;
    f = s.sources_f;
    for (i4 k = 0; k < s.n_sources; k++, p += 3, f += 4) {
        b->dc_a[n] = of[p[0] < earth ? p[0] : earth];
        b->dc_b[n] = of[p[1] < earth ? p[1] : earth];
        b->y_dc[n] = 1.0 / f[3];
        n += b->dc_a[n] != b->dc_b[n];
    }
    for (i4 k = 0; k < n; k++) {
        if (b->dc_a[k] == earth || b->dc_b[k] == earth) continue;
        i4 x = root(part, b->dc_a[k]), y = root(part, b->dc_b[k]);
        if (x < y) part[y] = x;
        else if (y < x) part[x] = y;
    }
    for (i4 i = 0; i <= earth; i++) part[i] = root(part, i);
    for (i4 k = 0; k < n; k++)
        if ((b->dc_a[k] == earth) != (b->dc_b[k] == earth))
            grounded[part[b->dc_a[k] == earth ? b->dc_b[k] : b->dc_a[k]]] = 1;
    /* a part that hangs on nothing gets one node tied, for only differences mean anything there */
    for (i4 i = 0; i < earth; i++) kept[i] = of[i] == i && (i != part[i] || grounded[i]) ? m++ : -1;
    kept[earth] = -1;
    double *a = (double *)b->matrix;
    memset(a, 0, sizeof(double) * (size_t)m * (size_t)m);
    for (i4 k = 0; k < n; k++) {
        i4 x = kept[b->dc_a[k]], y = kept[b->dc_b[k]];
        double g = creal(b->y_dc[k]);
        if (x >= 0) a[x * m + x] += g;
        if (y >= 0) a[y * m + y] += g;
        if (x >= 0 && y >= 0) {
            a[x * m + y] -= g;
            a[y * m + x] -= g;
        }
    }
    /* in place; conductances need no pivoting */
    for (i4 k = 0; k < m; k++) {
        double *pivot = a + k * m, by = 1.0 / pivot[k];
        pivot[k] = 1.0;
        for (i4 c = 0; c < m; c++) pivot[c] *= by;
        for (i4 r = 0; r < m; r++) {
            double *row = a + r * m, x = row[k];
            if (r == k || x == 0.0) continue;
            row[k] = 0.0;
            for (i4 c = 0; c < m; c++) row[c] -= x * pivot[c];
        }
    }
    memset(inverse, 0, sizeof(double) * (size_t)(earth + 1) * (size_t)(earth + 1));
    for (i4 i = 0; i < earth; i++)
        for (i4 k = 0; kept[i] >= 0 && k < earth; k++)
            if (kept[k] >= 0) inverse[i * (earth + 1) + k] = a[kept[i] * m + kept[k]];
}

/* Readings and currents of an island with its key slots at `key`, as numbers; how many, or minus why not. */
static i4 solved(Board *b, i4 which, const i4 *key, i4 n_key, i4 *given) {
    Isle s = isle_of(b->ints + b->isle_int[which], b->floats + b->isle_float[which]);
    double *value = b->values;
    for (i4 i = 0; i < n_key; i++) value[i] = b->re[key[i]];
    int reason = settle(b, &s, value, 0, 0);
    if (reason) return -reason;
    i4 n_free = s.n_free, n_fixed = s.n_fixed, n_read = s.n_read, n_d = s.n_edges_dc, *at_root = b->root_of;
    const i4 *p = s.reads, *branch_p = s.branches, *source_p = s.sources;
    const double *f = s.reads_f, *branch_f = s.branches_f, *source_f = s.sources_f;
    i4 n = 0;
    const i4 *read_p = p;
    for (i4 k = 0; k < n_read; k++, p += 7) {
        i4 of = p[0], form = p[1];
        phasor va = 0.0;
        double vd = 0.0;
        if (of == 0) {
            i4 x = at_root[p[2]], y = at_root[p[3]];
            if (form == AC) va = b->ac[x] - b->ac[y];
            else vd = creal(b->dc[x] - b->dc[y]);
        } else if (of == 1) {
            const i4 *q = branch_p + 4 * p[4];
            phasor ya;
            double g;
            admit(q, branch_f + 3 * p[4], value, &ya, &g);
            i4 x = at_root[q[0]], y = at_root[q[1]];
            if (form == AC) va = ya * (b->ac[x] - b->ac[y]);
            else vd = g * creal(b->dc[x] - b->dc[y]);
        } else {
            const i4 *q = source_p + 3 * p[4];
            const double *g_at = source_f + 4 * p[4];
            double level = q[2] >= 0 ? value[q[2]] : 1.0;
            i4 x = at_root[q[0]], y = at_root[q[1]];
            if (form == AC) va = (b->ac[x] - b->ac[y] - (g_at[0] + g_at[1] * I) * level) / g_at[3];
            else vd = (creal(b->dc[x] - b->dc[y]) - g_at[2] * level) / g_at[3];
        }
        b->read_ac[k] = va;
        b->read_dc[k] = vd;
    }
    const double *looks_f = f;
    for (i4 k = 0; k < n_read; k++) f += read_p[7 * k + 6];
    const i4 *motor_p = p + s.n_drawn;
    for (i4 k = 0; k < s.n_motors; k++, motor_p += 4, f += 1) turned(b->read_ac, motor_p, f[0]);
    f = looks_f;
    for (i4 k = 0; k < n_read; k++) {
        i4 form = read_p[7 * k + 1], how = read_p[7 * k + 5], count = read_p[7 * k + 6];
        phasor va = b->read_ac[k];
        double vd = b->read_dc[k];
        i4 number;
        if (how == RAW_AC) number = number_of(b, AC, steady(creal(va)), steady(cimag(va)));
        else if (how == RAW_DC) number = number_of(b, PLAIN, steady(vd), 0.0);
        else if (how == ASKED)
            number = number_of(b, PLAIN, vd < 1.0 ? 0.0 : 10.0 * (rint(fmin(vd / 10.0, 1.0) * 100.0) / 100.0), 0.0);
        else {
            double size = form == AC ? size_of(va) : vd;
            number = number_of(b, PLAIN, looked(how == LEVELS ? fabs(size) : size, f, count), 0.0);
        }
        if (number < 0) return -FULL;
        given[n++] = number;
        f += count;
    }
    for (i4 k = 0; k < s.n_drawn; k++, p++) {
        double flow = 0.0;
        i4 place = p[0];
        int mine = place >= 0;
        for (i4 i = place + 1; mine && i < n_fixed; i++) mine = at_root[n_free + i] != at_root[n_free + place];
        if (mine) {
            i4 node = at_root[n_free + place];
            for (i4 e = 0; s.in_dc && e < n_d; e++) {
                double part = creal(b->y_dc[e] * (b->dc[b->dc_a[e]] - b->dc[b->dc_b[e]]));
                if (b->dc_a[e] == node) flow += part;
                if (b->dc_b[e] == node) flow -= part;
            }
            for (i4 e = 0; e < s.n_sources; e++) {
                if (b->from_[e] == node) flow -= creal(b->j_dc[e]);
                if (b->to[e] == node) flow += creal(b->j_dc[e]);
            }
        }
        i4 number = number_of(b, PLAIN, steady(flow), 0.0);
        if (number < 0) return -FULL;
        given[n++] = number;
    }
    return n;
}

/* What an island gives at a key, kept; minus why not, less one. */
static i8 island_answer(Board *b, i4 unit, const i4 *key, i4 n, u8 h) {
    i4 m = solved(b, b->law[unit], key + 1, n - 1, b->given);
    if (m < 0) return m - 1;
    int own = b->swapped[unit];
    double *largest = own ? b->own : b->largest;
    for (i4 i = 0; i < m; i++) {
        i4 s = b->outs[b->out_at[unit] + i];
        double size = fabs(b->re[b->given[i]]);
        if (size > largest[s]) largest[s] = size;
    }
    i8 place = kept(b, key, n, h, b->given, m);
    return place < 0 ? -1 - FULL : place;
}

/* Where what a unit answers now begins in the rows; minus why not, less one. */
static i8 answer(Board *b, i4 unit) {
    i4 *key = b->key, n = 1;
    const i4 *now = b->now, *ins = b->ins + b->in_at[unit];
    key[0] = b->law[unit];
    for (i4 i = 0; i < b->in_n[unit]; i++) key[n++] = now[ins[i]];
    if (b->kind[unit] == RULE) {
        const i4 *outs = b->outs + b->out_at[unit];
        for (i4 i = 0; i < b->out_n[unit]; i++) key[n++] = now[outs[i]];
    }
    u8 h = marked(key, n);
    i8 place = found(b, key, n, h);
    if (b->kind[unit] == ISLAND) {
        if (place < 0) place = island_answer(b, unit, key, n, h);
        if (place >= 0 && unit == b->placed_island) {
            /* the order in which the slip's own island is asked for its states, each once, tells runs apart */
            u8 mask = (u8)b->asked_size - 1, p = mixed(0, (u8)place) & mask;
            for (; b->asked_run[p] == b->run; p = (p + 1) & mask)
                if (b->asked_place[p] == place) return place;
            if (2 * b->asked_n >= b->asked_size) return -1 - FULL;
            b->asked_run[p] = b->run;
            b->asked_place[p] = place;
            b->asked[b->asked_n++] = (i4)place;
        }
        return place;
    }
    if (place >= 0) return place;
    i4 m = b->ask(unit, n, key, b->given);
    if (m < 0) return -1 - FAILED;
    place = kept(b, key, n, h, b->given, m);
    return place < 0 ? -1 - FULL : place;
}

/* turns -------------------------------------------------------------------------------------------------------- */

/* Mark of a change, by which those of a slip are held against those of the right wiring. */
static inline u8 change_mark(i4 slot, double s, i4 turn, i4 value) {
    return mixed(mixed(mixed((u8)slot, (u8)(s * 1e6)), (u8)turn), (u8)value);
}

static int set(Board *b, i4 slot, i4 value, double s, i4 turn) {
    i8 n = b->n_events;
    if (n >= b->event_most) return 0;
    b->now[slot] = value;
    b->step[n] = (Change){s, change_mark(slot, s, turn, value), slot, turn, value, 0};
    b->n_events = n + 1;
    return 1;
}

/* Readers of a slot that are at work stand in a row, each once; how many. */
static i4 wake(Board *b, i4 slot, flag *flags, i4 *row, i4 n) {
    for (i4 i = b->reader_at[slot]; i < b->reader_at[slot + 1]; i++) {
        i4 u = b->readers[i];
        if (b->works[u] && !b->swapped[u] && !flags[u]) {
            flags[u] = 1;
            row[n++] = u;
        }
    }
    for (i4 m = b->more_at[slot]; m >= 0; m = b->more[2 * m + 1]) {
        i4 u = b->more[2 * m];
        if (b->works[u] && !flags[u]) {
            flags[u] = 1;
            row[n++] = u;
        }
    }
    return n;
}

static i4 later(Board *b, i4 slot, double when, i4 value, i4 n_waiting) {
    if (!b->pending[slot]) {
        b->pending[slot] = 1;
        i4 i = 0;
        while (i < n_waiting && b->waiting[i] != slot) i++;
        if (i == n_waiting) b->waiting[n_waiting++] = slot;
    }
    b->due_s[slot] = when;
    b->due[slot] = value;
    return n_waiting;
}

static void clear(Board *b, i4 n_queue, i4 n_woken, i4 n_follow, i4 n_waiting) {
    for (i4 i = 0; i < n_queue; i++) b->queued[b->queue[i]] = 0;
    for (i4 i = 0; i < n_woken; i++) b->awake[b->woken[i]] = 0;
    for (i4 i = 0; i < n_follow; i++) b->follows[b->following[i]] = 0;
    for (i4 i = 0; i < n_waiting; i++) b->pending[b->waiting[i]] = 0;
}

/* Number of what a bus gives in all; -1 when there is no room. */
static i4 sum_of(Board *b, i4 unit) {
    double total = 0.0;
    for (i4 i = 0; i < b->in_n[unit]; i++) total += b->re[b->now[b->ins[b->in_at[unit] + i]]];
    total = steady(total);
    double level = b->level_of_sum[unit];
    if (b->sums == 1 && level > 0.0) total = looked(fabs(total), &level, 1);
    return number_of(b, PLAIN, total, 0.0);
}

static void restless(Board *b, i4 unit) {
    b->restless[unit] = 1;
    b->restless_seen = 1;
}

static void by_number(i4 *row, i4 n) {
    for (i4 i = 1; i < n; i++) {
        i4 k = row[i], j = i;
        for (; j && row[j - 1] > k; j--) row[j] = row[j - 1];
        row[j] = k;
    }
}

/* An answer of a rule taken for one of its outputs: what is to be written now, or -1. */
static i4 taken_up(Board *b, i4 slot, i4 value, double s, i4 *n_waiting) {
    if (value < 0) {
        i4 coming = b->after_v[-1 - value];
        if (b->now[slot] == coming) b->pending[slot] = 0;
        else if (!b->pending[slot] || b->due[slot] != coming)
            *n_waiting = later(b, slot, s + b->after_s[-1 - value], coming, *n_waiting);
        return -1;
    }
    b->pending[slot] = 0;
    return value == b->now[slot] ? -1 : value;
}

/* What does not settle side by side, one unit after the other: a real race has a winner. */
static int one_by_one(Board *b, i4 n_queue, double s, i4 *turn, i4 *n_waiting, int *rests) {
    flag moved[b->n_units];
    memset(moved, 0, sizeof moved);
    for (int round = 0; round < 2 * MAX_TURNS && n_queue; round++) {
        by_number(b->queue, n_queue);
        for (i4 i = 0; i < n_queue; i++) b->queued[b->queue[i]] = 0;
        i4 n_follow = 0;
        for (i4 q = 0; q < n_queue; q++) {
            i4 k = b->queue[q];
            ++*turn;
            i8 place = -1;
            i4 summed = 0;
            if (b->kind[k] == SUM) summed = sum_of(b, k);
            else place = answer(b, k);
            if (summed < 0 || (b->kind[k] != SUM && place < 0)) {
                clear(b, 0, 0, n_follow, *n_waiting);
                return summed < 0 ? FULL : (int)(-1 - place);
            }
            for (i4 o = 0; o < b->out_n[k]; o++) {
                i4 slot = b->outs[b->out_at[k] + o];
                i4 value = b->kind[k] == SUM ? summed : b->rows[place + o];
                if (b->kind[k] == RULE) {
                    value = taken_up(b, slot, value, s, n_waiting);
                    if (value < 0) continue;
                    moved[k] |= b->reader_at[slot] < b->reader_at[slot + 1] || b->more_at[slot] >= 0;
                } else if (value == b->now[slot]) continue;
                if (!set(b, slot, value, s, *turn)) {
                    clear(b, 0, 0, n_follow, *n_waiting);
                    return FULL;
                }
                n_follow = wake(b, slot, b->follows, b->following, n_follow);
            }
        }
        n_queue = n_follow;
        for (i4 i = 0; i < n_follow; i++) {
            b->follows[b->following[i]] = 0;
            b->queue[i] = b->following[i];
            b->queued[b->following[i]] = 1;
        }
    }
    *rests = !n_queue;
    if (n_queue)
        for (i4 u = 0; u < b->n_units; u++)
            if (moved[u]) restless(b, u);
    for (i4 i = 0; i < n_queue; i++) b->queued[b->queue[i]] = 0;
    return DONE;
}

/* How many bits of `all` are set below the lowest one of `some`. */
static inline i4 below_bit(u8 all, u8 some) {
    u8 x = all & ((some & -some) - 1);
    x -= x >> 1 & 0x5555555555555555u;
    x = (x & 0x3333333333333333u) + (x >> 2 & 0x3333333333333333u);
    x = (x + (x >> 4)) & 0x0F0F0F0F0F0F0F0Fu;
    return (i4)(x * 0x0101010101010101u >> 56);
}

static inline int before(const Change *one, const Change *other) {
    return one->s < other->s || (one->s == other->s && one->turn < other->turn);
}

/* Moves of the right wiring in a step: of slots that those at work write, into `base`; changes of slots that they only
 * read, into the agenda, in the order of moments. How many moves. */
static i4 hears(Board *b, i4 step, i4 *n_agenda) {
    const u8 *moving = b->moving + b->list_of[step] * b->slot_words;
    const i4 *move_at = b->move_at + b->list_of[step] * b->slot_words;
    const i4 *at = b->list_at + b->list_of[step];
    i4 *base = b->base, *heard = b->moved, n_base = 0, n_heard = 0, n = 0;
    if (at[1] - at[0] < MANY)
        for (i4 k = at[0]; k < at[1]; k++) {
            i4 m = b->moves_in[k], role = b->role[b->slots_in[k]];
            base[n_base] = heard[n_heard] = m;
            n_base += role >> 1;
            n_heard += role == 1;
        }
    else
        for (i8 w = 0; w < b->slot_words; w++) {
            const i4 *first = b->moves_in + move_at[w];
            u8 all = moving[w], written = all & b->written_bits[w], read = all & b->heard_bits[w] & ~written;
            for (; written; written &= written - 1) base[n_base++] = first[below_bit(all, written)];
            for (; read; read &= read - 1) heard[n_heard++] = first[below_bit(all, read)];
        }
    for (i4 i = 0; i < n_heard; i++) {
        const Move *m = b->moves + heard[i];
        for (i4 c = m->at; c < m->at + m->n; c++) {
            i4 j = n++;
            for (; j && before(b->changes + c, b->changes + b->agenda[j - 1]); j--) b->agenda[j] = b->agenda[j - 1];
            b->agenda[j] = c;
        }
    }
    *n_agenda = n;
    return n_base;
}

/* One step taken by those at work, everything they read and write being as it was before. */
static int take(Board *b, i4 step, int forced) {
    i4 *now = b->now;
    i4 n_queue = 0, n_woken = 0, n_waiting = 0, n_agenda = 0, at_agenda = 0, n_base = 0;
    u8 mark = 0, spot = 0, mask = (u8)b->taken_size - 1;
    b->n_events = 0;
    b->did = b->step;
    if (forced) {
        for (i4 i = 0; i < b->at_work; i++) {
            i4 u = b->working[i];
            if (b->swapped[u] && b->kind[u] != GONE) {
                b->woken[n_woken++] = u;
                b->awake[u] = 1;
            }
        }
    } else {
        n_base = hears(b, step, &n_agenda);
    }
    b->n_base = n_base;
    b->n_agenda = n_agenda;
    int keeps = !forced && b->run;
    if (keeps) {
        /* a step in which all that is heard stands as before another one, and moves alike, comes to the same */
        mark = mixed(b->now_mark, (u8)b->at_work);
        for (i4 i = 0; i < n_agenda; i++) mark += b->changes[b->agenda[i]].mark;
        mark = mixed(mark, (u8)n_agenda);
        for (spot = mark & mask; b->taken[spot].run == b->run; spot = (spot + 1) & mask)
            if (b->taken[spot].mark == mark) {
                i4 n = b->taken[spot].n;
                b->did = b->again + b->taken[spot].at;
                for (i4 i = 0; i < n_agenda; i++) {
                    const Change *c = b->changes + b->agenda[i];
                    now[c->slot] = c->value;
                }
                for (i4 i = 0; i < n; i++) now[b->did[i].slot] = b->did[i].value;
                b->n_events = n;
                return DONE;
            }
    }
    double time_s = 0.0;
    i4 turn = 0, moments = 0;
    int first = forced;
    for (;;) {
        i4 n_due = 0;
        if (n_queue) {
            if (++turn > MAX_TURNS) {
                int rests = 1;
                int reason = one_by_one(b, n_queue, time_s, &turn, &n_waiting, &rests);
                n_queue = 0;
                if (reason) {
                    clear(b, 0, n_woken, 0, n_waiting);
                    return reason;
                }
                if (!rests) break;
                continue;
            }
            /* all read first, then all write */
            i4 n_moves = 0;
            for (i4 i = 0; i < n_queue; i++) {
                i4 k = b->queue[i];
                i8 place = answer(b, k);
                if (place < 0) {
                    clear(b, n_queue, n_woken, 0, n_waiting);
                    return (int)(-1 - place);
                }
                const i4 *outs = b->outs + b->out_at[k], *given = b->rows + place;
                for (i4 o = 0; o < b->out_n[k]; o++) {
                    i4 value = taken_up(b, outs[o], given[o], time_s, &n_waiting);
                    if (value < 0) continue;
                    b->moved[n_moves] = outs[o];
                    b->move_value[n_moves++] = value;
                }
            }
            for (i4 i = 0; i < n_queue; i++) b->queued[b->queue[i]] = 0;
            n_queue = 0;
            for (i4 i = 0; i < n_moves; i++) {
                if (!set(b, b->moved[i], b->move_value[i], time_s, turn)) {
                    clear(b, 0, n_woken, 0, n_waiting);
                    return FULL;
                }
                n_woken = wake(b, b->moved[i], b->awake, b->woken, n_woken);
            }
        } else {
            double coming_s = INFINITY;
            i4 coming_turn = 0;
            if (first) {
                coming_s = 0.0;
                first = 0;
            } else if (at_agenda < n_agenda) {
                coming_s = b->changes[b->agenda[at_agenda]].s;
                coming_turn = b->changes[b->agenda[at_agenda]].turn;
            }
            i4 n = 0;
            double soonest = INFINITY;
            for (i4 i = 0; i < n_waiting; i++) {
                i4 s = b->waiting[i];
                if (!b->pending[s]) continue;
                b->waiting[n++] = s;
                soonest = fmin(soonest, b->due_s[s]);
            }
            n_waiting = n;
            if (n_waiting && soonest <= coming_s) {
                coming_s = soonest;
                coming_turn = 0;
                for (i4 i = 0; i < n_waiting; i++) {
                    i4 s = b->waiting[i];
                    if (b->due_s[s] > soonest) continue;
                    b->pending[s] = 0;
                    b->moved[n_due++] = s;
                    /* its writer acts again once its delay is over */
                    i4 k = b->writer[s];
                    if (!b->queued[k]) {
                        b->queued[k] = 1;
                        b->queue[n_queue++] = k;
                    }
                }
            }
            if (coming_s == INFINITY) break;
            if (n_due && ++moments > MAX_MOMENTS) {
                for (i4 i = 0; i < n_queue; i++) restless(b, b->queue[i]);
                for (i4 i = 0; i < n_waiting; i++)
                    if (b->pending[b->waiting[i]]) restless(b, b->writer[b->waiting[i]]);
                break;
            }
            time_s = coming_s;
            turn = coming_turn;
            for (i4 i = 0; i < n_due; i++) {
                i4 s = b->moved[i];
                if (now[s] == b->due[s]) continue;
                if (!set(b, s, b->due[s], time_s, turn)) {
                    clear(b, n_queue, n_woken, 0, n_waiting);
                    return FULL;
                }
                n_woken = wake(b, s, b->awake, b->woken, n_woken);
            }
        }
        for (; at_agenda < n_agenda; at_agenda++) {
            const Change *c = b->changes + b->agenda[at_agenda];
            if (c->s != time_s || c->turn != turn) break;
            i4 s = c->slot;
            if (now[s] != c->value) {
                now[s] = c->value;
                n_woken = wake(b, s, b->awake, b->woken, n_woken);
            }
        }
        /* islands follow in the same round, then sums; devices have their turn in the next */
        i4 n_follow = 0;
        for (i4 i = 0; i < n_woken; i++) {
            i4 k = b->woken[i];
            if (b->kind[k] == RULE) {
                if (!b->queued[k]) {
                    b->queued[k] = 1;
                    b->queue[n_queue++] = k;
                }
                continue;
            }
            if (b->kind[k] == SUM) {
                if (!b->follows[k]) {
                    b->follows[k] = 1;
                    b->following[n_follow++] = k;
                }
                continue;
            }
            i8 place = answer(b, k);
            if (place < 0) {
                clear(b, n_queue, n_woken, n_follow, n_waiting);
                return (int)(-1 - place);
            }
            for (i4 o = 0; o < b->out_n[k]; o++) {
                i4 s = b->outs[b->out_at[k] + o], value = b->rows[place + o];
                if (now[s] == value) continue;
                if (!set(b, s, value, time_s, turn)) {
                    clear(b, n_queue, n_woken, n_follow, n_waiting);
                    return FULL;
                }
                n_follow = wake(b, s, b->follows, b->following, n_follow);
            }
        }
        for (i4 i = 0; i < n_woken; i++) b->awake[b->woken[i]] = 0;
        n_woken = 0;
        for (i4 i = 0; i < n_follow; i++) {
            i4 k = b->following[i];
            if (b->kind[k] == SUM) {
                i4 s = b->outs[b->out_at[k]], value = sum_of(b, k);
                if (value < 0 || (now[s] != value && !set(b, s, value, time_s, turn))) {
                    clear(b, n_queue, 0, n_follow, n_waiting);
                    return FULL;
                }
                if (value == now[s] && b->n_events && b->step[b->n_events - 1].slot == s)
                    n_follow = wake(b, s, b->follows, b->following, n_follow);
            } else if (!b->queued[k]) {
                b->queued[k] = 1;
                b->queue[n_queue++] = k;
            }
        }
        for (i4 i = 0; i < n_follow; i++) b->follows[b->following[i]] = 0;
    }
    clear(b, n_queue, n_woken, 0, n_waiting);
    if (keeps && b->n_again + b->n_events <= b->again_most && 2 * b->n_taken < b->taken_size) {
        i8 n = b->n_events, from = b->n_again;
        b->taken[spot] = (Taken){mark, (i4)b->run, (i4)from, (i4)n, 0};
        memcpy(b->again + from, b->step, sizeof(Change) * (size_t)n);
        b->n_again += n;
        b->n_taken++;
    }
    return DONE;
}

/* those at work ------------------------------------------------------------------------------------------------ */

/* Value of a slot after a step on the right wiring. */
static inline i4 right(const Board *b, i8 step, i4 slot) {
    return b->right_value[b->right_rows[b->row_at[step] * b->n_columns + b->column_at[slot]]];
}

static void home(Board *b) {
    for (i8 i = 0; i < b->at_work; i++) b->works[b->working[i]] = 0;
    for (i8 i = 0; i < b->n_heard; i++) b->role[b->heard[i]] = 0;
    memset(b->heard_bits, 0, 8 * (size_t)b->slot_words);
    memset(b->written_bits, 0, 8 * (size_t)b->slot_words);
    b->at_work = b->n_written = b->n_heard = 0;
}

static inline void hear(Board *b, i4 slot) {
    b->heard[b->n_heard++] = slot;
    b->heard_bits[slot >> 6] |= (u8)1 << (slot & 63);
}

/* A unit comes to work; it stands as on the right wiring does. */
static void join(Board *b, i4 unit, i8 above) {
    b->set_now = ++b->set_next;
    b->works[unit] = 1;
    b->working[b->at_work++] = unit;
    const i4 *outs = b->outs + b->out_at[unit], *ins = b->ins + b->in_at[unit];
    for (i4 o = 0; o < b->out_n[unit]; o++) {
        i4 s = outs[o];
        if (b->role[s] & 2) continue;
        if (!b->role[s]) hear(b, s);
        b->role[s] |= 2;
        b->written_bits[s >> 6] |= (u8)1 << (s & 63);
        b->written[b->n_written++] = s;
        b->before[s] = right(b, above, s);
    }
    for (i4 i = 0; i < b->in_n[unit]; i++) {
        i4 s = ins[i];
        if (!b->role[s]) hear(b, s);
        b->role[s] |= 1;
    }
}

static inline int may_join(const Board *b, i4 u) {
    return !b->works[u] && !b->swapped[u] && (b->kind[u] != SUM || b->sums);
}

/* Who reads a slot comes to work; and behind those that were at work before in this walk, all such that read them. */
static i4 follow(Board *b, i4 slot, i8 above) {
    i8 start = b->at_work;
    for (i4 r = b->reader_at[slot]; r < b->reader_at[slot + 1]; r++)
        if (may_join(b, b->readers[r])) join(b, b->readers[r], above);
    for (i8 i = start; i < b->at_work; i++) {
        i4 k = b->working[i];
        if (!b->ever[k]) {
            b->ever[k] = 1;
            continue;
        }
        for (i4 o = 0; o < b->out_n[k]; o++) {
            i4 s = b->outs[b->out_at[k] + o];
            for (i4 r = b->reader_at[s]; r < b->reader_at[s + 1]; r++)
                if (b->ever[b->readers[r]] && may_join(b, b->readers[r])) join(b, b->readers[r], above);
        }
    }
    if (b->at_work == start) b->followed[slot] = b->set_now;
    return (i4)(b->at_work - start);
}

/* Who does otherwise in a step than on the right wiring: its readers come to work; how many did. */
static i4 compare(Board *b, i8 above) {
    u8 *mine = b->mine, *theirs = b->theirs;
    i4 *moved = b->moved, n = 0, joined = 0, other = 0;
    /* without branches that nobody could foresee */
    for (i8 e = 0; e < b->n_events; e++) {
        i4 s = b->did[e].slot;
        moved[n] = s;
        n += !mine[s];
        mine[s] = mixed(mine[s], b->did[e].mark) | 1;
    }
    for (i8 i = 0; i < b->n_base; i++) {
        const Move *m = b->moves + b->base[i];
        moved[n] = m->slot;
        n += !mine[m->slot];
        theirs[m->slot] = m->mark;
    }
    for (i4 i = 0; i < n; i++) {
        i4 s = moved[i];
        int differs = mine[s] != theirs[s];
        mine[s] = theirs[s] = 0;
        moved[other] = s;
        other += differs;
    }
    for (i4 i = 0; i < other; i++)
        if (b->followed[moved[i]] != b->set_now) joined += follow(b, moved[i], above);
    b->n_moved = other;
    return joined;
}

static inline void write_down(Board *b, i4 step, i4 slot, double s, i4 turn, i4 value) {
    b->out[b->n_out++] = (Told){s, step, slot, turn, value};
}

/* Write down what watched slots did otherwise in a step: that they did, and then what. */
static int note(Board *b, i4 step) {
    i8 n = 0;
    if (b->n_out + b->n_moved + b->n_events > b->out_most) return 0;
    for (i8 i = 0; i < b->n_moved; i++) {
        i4 s = b->moved[i];
        if (b->watch[s] < 0) continue;
        write_down(b, step, s, 0.0, 0, -1);
        b->theirs[s] = 1;
        b->moved[n++] = s;
    }
    if (!n) return 1;
    for (i8 e = 0; e < b->n_events; e++)
        if (b->theirs[b->did[e].slot])
            write_down(b, step, b->did[e].slot, b->did[e].s, b->did[e].turn, b->did[e].value);
    for (i8 i = 0; i < n; i++) b->theirs[b->moved[i]] = 0;
    return 1;
}

static inline i4 as_before(const Board *b, i8 above, i4 slot) {
    return b->role[slot] & 2 ? b->before[slot] : right(b, above, slot);
}

/* Everything that those at work read or write stands as it was before a step. */
static void stand(Board *b, i8 above) {
    i4 *now = b->now;
    if (b->stood == above && b->stood_set == b->set_now) {
        /* a step beside the last one: only what has moved since */
        for (i8 i = 0; i < b->n_changed; i++) now[b->changed[i]] = as_before(b, above, b->changed[i]);
    } else {
        u8 mark = 0;
        for (i8 j = 0; j < b->n_heard; j++) {
            i4 s = b->heard[j], v = as_before(b, above, s);
            now[s] = v;
            mark += b->salt[s] * (u8)v;
        }
        b->before_mark = mark;
        b->stood = above;
        b->stood_set = b->set_now;
    }
    b->now_mark = b->before_mark;
    b->n_changed = 0;
}

/* What the last step has moved is to be put back before the next one beside it. */
static void moved_on(Board *b) {
    for (i8 e = 0; e < b->n_events; e++) b->changed[b->n_changed++] = b->did[e].slot;
    for (i8 i = 0; i < b->n_agenda; i++) b->changed[b->n_changed++] = b->changes[b->agenda[i]].slot;
}

/* The mark of how all that is heard stands now. */
static void mark_now(Board *b, i8 above) {
    u8 mark = b->before_mark;
    for (i8 i = 0; i < b->n_changed; i++) {
        i4 s = b->changed[i];
        if (b->mine[s]) continue;
        b->mine[s] = 1;
        mark += b->salt[s] * (u8)(b->now[s] - as_before(b, above, s));
    }
    for (i8 i = 0; i < b->n_changed; i++) b->mine[b->changed[i]] = 0;
    b->now_mark = mark;
}

/* Leave a step for later: who is at work below it, and how everything stands there. */
static void put_off(Board *b, i8 step) {
    i8 n = b->n_put_off++;
    b->node[n] = (i4)step;
    b->crew_n[n] = (i4)b->at_work;
    b->crew_set[n] = b->set_now;
    memcpy(b->crew + n * b->n_units, b->working, 4 * (size_t)b->at_work);
    i4 *saved = b->saved + n * b->n_slots;
    for (i8 j = 0; j < b->n_written; j++) saved[b->written[j]] = b->now[b->written[j]];
}

/* Those at work below a step come to work, and stand as they did there. */
static void enter(Board *b, const i4 *crew, i8 n, i8 set, const i4 *saved, i8 step) {
    if (set != b->set_now) {
        home(b);
        for (i8 i = 0; i < n; i++) join(b, crew[i], step);
        b->set_now = set;
    }
    for (i8 j = 0; j < b->n_written; j++) b->before[b->written[j]] = saved[b->written[j]];
    b->stood = -1;
}

/* Steps that touch those at work, from `first` of them on, among some. */
static void touch(Board *b, i8 first, i8 from, i8 to) {
    for (i8 i = first; i < b->at_work; i++) {
        const u8 *bits = b->unit_bits + b->working[i] * b->words;
        for (i8 w = from >> 6; w <= (to - 1) >> 6; w++) b->touched[w] |= bits[w];
    }
}

static i8 next_step(const Board *b, i8 step, i8 last) {
    const u8 *touched = b->touched;
    while (step < last) {
        u8 rest = touched[step >> 6] >> (step & 63);
        if (rest) {
            step += __builtin_ctzll(rest);
            return step < last ? step : last;
        }
        step = ((step >> 6) + 1) << 6;
    }
    return last;
}

/* Whether what the buses give in all could move anyone, although it was left out. */
int sums_count(const Board *b) {
    for (i4 u = 0; u < b->n_units; u++) {
        if (b->kind[u] != SUM) continue;
        double most = 0.0;
        for (i4 i = 0; i < b->in_n[u]; i++) {
            i4 s = b->ins[b->in_at[u] + i];
            most += fmax(b->largest[s], b->own[s]);
        }
        if (most >= b->level_of_sum[u]) return 1;
    }
    return 0;
}

/* Forget the last walk; units that a slip has put in others' places are to be at work. */
static void begin(Board *b) {
    home(b);
    memset(b->ever, 0, sizeof(flag) * (size_t)b->n_units);
    if (b->restless_seen) memset(b->restless, 0, sizeof(flag) * (size_t)b->n_units);
    b->n_events = b->n_base = b->n_agenda = b->n_out = b->n_moved = b->n_put_off = 0;
    b->stood = -1;
    b->n_changed = 0;
    b->n_taken = b->n_again = b->restless_seen = b->asked_n = 0;
    b->run++;
    for (i8 i = 0; i < b->placed_n; i++) {
        i4 u = b->placed[i];
        u8 *mine = b->unit_bits + u * b->words;
        memset(mine, 0, 8 * (size_t)b->words);
        for (i4 j = 0; j < b->in_n[u]; j++) {
            const u8 *bits = b->bits + b->ins[b->in_at[u] + j] * b->words;
            for (i8 w = 0; w < b->words; w++) mine[w] |= bits[w];
        }
        for (i4 j = 0; j < b->out_n[u]; j++) {
            /* what it would have written moves there */
            const u8 *bits = b->bits + b->outs[b->out_at[u] + j] * b->words;
            for (i8 w = 0; w < b->words; w++) mine[w] |= bits[w];
        }
    }
}

/* Every step below one that touches those at work there; those with steps below them are put off. */
static int below(Board *b, i8 node, const i4 *crew, i8 n, i8 set, const i4 *saved) {
    i8 first = node < b->n_steps ? node + 1 : 0, last = node < b->n_steps ? b->end[node] : b->n_steps;
    int reason;
    enter(b, crew, n, set, saved, node);
    for (i8 w = first >> 6; w <= (last - 1) >> 6; w++) b->touched[w] = 0;
    touch(b, 0, first, last);
    for (i8 step = next_step(b, first, last); step < last; step = next_step(b, b->end[step], last)) {
        i8 above = b->parent[step], before = b->at_work;
        /* most steps have one step below them, and none below that: it goes on from here */
        int goes_on = b->end[step] == step + 2, noted = 0;
        for (;;) {
            do {
                stand(b, above);
                if ((reason = take(b, (i4)step, 0))) return reason;
            } while (compare(b, above));
            if (!noted && !note(b, (i4)step)) return FULL;
            noted = 1;
            moved_on(b);
            if (!goes_on) break;
            if (b->at_work > before) touch(b, before, step + 1, step + 2);
            if (next_step(b, step + 1, step + 2) > step + 1) break;
            mark_now(b, above);
            if ((reason = take(b, (i4)step + 1, 0))) return reason;
            if (!compare(b, step)) {
                if (!note(b, (i4)step + 1)) return FULL;
                moved_on(b);
                break;
            }
            /* somebody new has come to work below: once more, and then from the step itself */
            goes_on = 0;
            enter(b, crew, n, set, saved, node);
            before = b->at_work;
        }
        if (!goes_on && b->end[step] > step + 1) {
            if (b->n_put_off >= b->put_off_most) return FULL;
            put_off(b, step);
        }
        if (b->at_work > before) {
            /* who came to work for this step stays for those beside it; elsewhere it stands otherwise */
            if (above == node) touch(b, before, step + 1 < last ? step + 1 : step, last);
            else enter(b, crew, n, set, saved, node);
        }
    }
    return DONE;
}

/* A whole walk with what a slip has put in place. */
int walked(Board *b) {
    i8 steps = b->n_steps;
    int reason;
    begin(b);
    for (i8 i = 0; i < b->placed_n; i++) join(b, b->placed[i], steps);
    do {
        stand(b, steps);
        if ((reason = take(b, (i4)steps, 1))) return reason;
    } while (compare(b, steps));
    if (!note(b, (i4)steps)) return FULL;
    put_off(b, steps);
    while (b->n_put_off) {
        i8 at = --b->n_put_off;
        /* it may be put off over: taken out first */
        i8 n = b->crew_n[at], node = b->node[at], set = b->crew_set[at];
        memcpy(b->own_crew, b->crew + at * b->n_units, 4 * (size_t)n);
        memcpy(b->own_saved, b->saved + at * b->n_slots, 4 * (size_t)b->n_slots);
        if ((reason = below(b, node, b->own_crew, n, set, b->own_saved))) return reason;
    }
    return !b->sums && sums_count(b) ? SUMS_COUNT : DONE;
}

/* The right wiring walked, every unit at work: rows are filled, and all changes written out. */
int walked_first(Board *b) {
    for (i8 step = 0; step < b->n_steps; step++) {
        memcpy(b->now, b->row + b->parent[step] * b->n_slots, 4 * (size_t)b->n_slots);
        int reason = take(b, (i4)step, 0);
        if (reason) return reason;
        if (b->n_out + b->n_events > b->out_most) return FULL;
        for (i8 e = 0; e < b->n_events; e++) {
            const Change *c = b->step + e;
            write_down(b, (i4)step, c->slot, c->s, c->turn, c->value);
        }
        for (i8 j = 0; j < b->n_written; j++)
            b->row[step * b->n_slots + b->written[j]] = b->now[b->written[j]];
    }
    return !b->sums && sums_count(b) ? SUMS_COUNT : DONE;
}

/* Everyone comes to work; sums only if they count. */
void all_to_work(Board *b) {
    home(b);
    for (i4 u = 0; u < b->n_units; u++)
        if (b->kind[u] != GONE && (b->kind[u] != SUM || b->sums)) join(b, u, b->n_steps);
}

/* Number of the move that some changes of the right wiring make up. */
static i4 move_of(Board *b, const i4 *events, i4 n, i4 *n_moves, i4 *n_changes) {
    i4 slot = b->event_slot[events[0]];
    Change *mine = b->changes + *n_changes;
    u8 mark = 0, mask = (u8)b->known_size - 1;
    for (i4 i = 0; i < n; i++) {
        i4 e = events[i], turn = b->event_turn[e], value = b->event_value[e];
        mine[i] = (Change){b->event_s[e], change_mark(slot, b->event_s[e], turn, value), slot, turn, value, 0};
        mark = mixed(mark, mine[i].mark) | 1;
    }
    u8 p = mark & mask;
    for (; b->known_moves[p] >= 0; p = (p + 1) & mask) {
        const Move *m = b->moves + b->known_moves[p];
        if (m->mark == mark && m->n == n && !memcmp(b->changes + m->at, mine, sizeof(Change) * (size_t)n))
            return b->known_moves[p];
    }
    b->known_moves[p] = *n_moves;
    b->moves[*n_moves] = (Move){mark, slot, *n_changes, n, 0};
    *n_changes += n;
    return (*n_moves)++;
}

/* Lay out what moves on the right wiring in each step. */
void lay_moves(Board *b) {
    i4 n_moves = 0, n_changes = 0, n_lists = 0, used = 0, k = 0;
    u8 mask = (u8)b->known_size - 1;
    for (i4 step = 0; step < b->n_steps; step++) {
        i4 *list = b->moves_in + used, n = 0;
        u8 mark = 0;
        while (k < b->event_at[step + 1]) {
            i4 first = k, slot = b->event_slot[b->by_slot[k]];
            while (k < b->event_at[step + 1] && b->event_slot[b->by_slot[k]] == slot) k++;
            b->slots_in[used + n] = slot;
            list[n] = move_of(b, b->by_slot + first, k - first, &n_moves, &n_changes);
            mark = mixed(mark, (u8)list[n++]);
        }
        u8 p = mark & mask;
        for (; b->known_lists[p] >= 0; p = (p + 1) & mask) {
            const i4 *at = b->list_at + b->known_lists[p];
            if (at[1] - at[0] == n && !memcmp(b->moves_in + at[0], list, 4 * (size_t)n)) break;
        }
        if (b->known_lists[p] < 0) {
            u8 *moving = b->moving + n_lists * b->slot_words;
            i4 *move_at = b->move_at + n_lists * b->slot_words;
            i4 i = 0;
            for (i8 w = 0; w < b->slot_words; w++) {
                move_at[w] = used + i;
                for (moving[w] = 0; i < n && b->moves[list[i]].slot >> 6 == w; i++)
                    moving[w] |= (u8)1 << (b->moves[list[i]].slot & 63);
            }
            b->known_lists[p] = n_lists++;
            b->list_at[n_lists] = used += n;
        }
        b->list_of[step] = b->known_lists[p];
    }
}

/* Steps in which each slot moves, and in which something moves that each unit reads. */
void set_bits(Board *b) {
    for (i8 step = 0; step < b->n_steps; step++)
        for (i4 e = b->event_at[step]; e < b->event_at[step + 1]; e++) {
            i4 s = b->event_slot[e];
            b->bits[s * b->words + (step >> 6)] |= (u8)1 << (step & 63);
        }
    for (i4 u = 0; u < b->n_units; u++)
        for (i4 j = 0; j < b->in_n[u]; j++)
            for (i8 w = 0; w < b->words; w++)
                b->unit_bits[u * b->words + w] |= b->bits[b->ins[b->in_at[u] + j] * b->words + w];
}

/* Watched slots that went another way, and a mark of the way each took; how many. */
i4 told(Board *b) {
    i4 n = 0;
    for (i8 e = 0; e < b->n_out; e++) {
        const Told *t = b->out + e;
        i4 s = t->slot;
        if (!b->mine[s]) {
            b->mine[s] = 1;
            b->told_slot[n++] = s;
        }
        u8 h = mixed(mixed((u8)t->step, (u8)(t->s * 1e6)), (u8)t->turn);
        b->mine[s] = mixed(b->mine[s], mixed(h, (u8)t->value)) | 1;
    }
    for (i4 i = 0; i < n; i++) {
        b->told_mark[i] = b->mine[b->told_slot[i]];
        b->mine[b->told_slot[i]] = 0;
    }
    return n;
}

/* Value of a slot after each step, by what the last walk has told of it; that side by side, and how much it is. */
i4 column_of(Board *b, i4 slot) {
    i8 *column = b->column;
    const i4 none = -1, as_before = -2;
    i4 n = 0;
    const u8 *bits = b->bits + slot * b->words;
    i4 dark = right(b, b->n_steps, slot);
    for (i8 p = 0; p < b->n_steps; p++) column[p] = none;
    for (i8 e = 0; e < b->n_out; e++) {
        const Told *t = b->out + e;
        if (t->slot != slot) continue;
        b->told_of[n++] = *t;
        i4 step = t->step, value = t->value < 0 ? as_before : t->value;
        if (step < b->n_steps) column[step] = value;
        else if (value >= 0) dark = value;
    }
    for (i8 p = 0; p < b->n_steps; p++) {
        if (column[p] >= 0) continue;
        i4 above = b->parent[p];
        int moves = column[p] == none && (bits[p >> 6] >> (p & 63) & 1);
        column[p] = moves ? right(b, p, slot) : above < b->n_steps ? column[above] : dark;
    }
    return n;
}

/* Put a unit in the place of another, which is kept; 0 when there is no room. */
int put(Board *b, i4 unit, i4 kind, i4 law, i4 n_in, const i4 *ins, i4 n_out, const i4 *outs) {
    i8 n = b->placed_n;
    i4 in_at = n ? b->stood_in[n - 1] : (i4)b->ins_used, out_at = n ? b->stood_out[n - 1] : (i4)b->outs_used;
    if (unit >= b->n_units || in_at + n_in > b->ins_most || out_at + n_out > b->outs_most) return 0;
    i4 *before = b->stood_unit + 6 * n;
    before[0] = b->kind[unit];
    before[1] = b->law[unit];
    before[2] = b->in_at[unit];
    before[3] = b->in_n[unit];
    before[4] = b->out_at[unit];
    before[5] = b->out_n[unit];
    b->placed[n] = unit;
    b->kind[unit] = (flag)kind;
    b->law[unit] = law;
    b->swapped[unit] = 1;
    b->in_at[unit] = in_at;
    b->in_n[unit] = n_in;
    b->out_at[unit] = out_at;
    b->out_n[unit] = n_out;
    memcpy(b->ins + in_at, ins, 4 * (size_t)n_in);
    memcpy(b->outs + out_at, outs, 4 * (size_t)n_out);
    for (i4 i = 0; i < n_in; i++) {
        /* several inputs may be one slot: waking looks at flags, so more than one entry does no harm */
        i4 m = in_at + i - (i4)b->ins_used;
        b->more[2 * m] = unit;
        b->more[2 * m + 1] = b->more_at[ins[i]];
        b->more_at[ins[i]] = m;
    }
    for (i4 i = 0; i < n_out; i++) b->writer[outs[i]] = unit;
    b->stood_in[n] = in_at + n_in;
    b->stood_out[n] = out_at + n_out;
    b->placed_n = n + 1;
    return 1;
}

/* Everything stands as before the first `put`. */
void take_away(Board *b) {
    while (b->placed_n) {
        i8 n = --b->placed_n;
        i4 unit = b->placed[n];
        const i4 *before = b->stood_unit + 6 * n;
        for (i4 i = 0; i < b->in_n[unit]; i++) b->more_at[b->ins[b->in_at[unit] + i]] = -1;
        for (i4 i = 0; i < b->out_n[unit]; i++) b->own[b->outs[b->out_at[unit] + i]] = 0.0;
        b->kind[unit] = (flag)before[0];
        b->law[unit] = before[1];
        b->in_at[unit] = before[2];
        b->in_n[unit] = before[3];
        b->out_at[unit] = before[4];
        b->out_n[unit] = before[5];
        b->swapped[unit] = 0;
        for (i4 i = 0; i < b->out_n[unit]; i++) b->writer[b->outs[b->out_at[unit] + i]] = unit;
        memcpy(b->unit_bits + unit * b->words, b->right_bits + unit * b->words, 8 * (size_t)b->words);
    }
}

/* Where the answer of an island stands that a slip has put in place, in one of its states; minus why not, less one. */
i8 asked_at(Board *b, i4 unit, const i4 *state) {
    i4 n = 1 + b->in_n[unit];
    b->key[0] = b->law[unit];
    memcpy(b->key + 1, state, 4 * (size_t)b->in_n[unit]);
    u8 h = marked(b->key, n);
    i8 place = found(b, b->key, n, h);
    return place >= 0 ? place : island_answer(b, unit, b->key, n, h);
}

#ifndef SOURCE_MARK
#define SOURCE_MARK 0u
#endif

/* Of which source this was built. */
uint32_t source_mark(void) { return SOURCE_MARK; }

/* How large the struct is, for board.py to check its own against. */
i8 size_of_board(void) { return (i8)sizeof(Board); }
