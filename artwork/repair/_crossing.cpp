// Which curves meet where they should not: curves as chords, swept from left to right.
//
//   crossing(knots, controls, lengths, flat) -> numbers of segments as int64 bytes, ascending
//     knots     float64, two each
//     controls  float64, four each: both control points of the segment that begins at the knot; NaN where straight
//     lengths   int64 of each contour: how many segments it has
//     flat      how far a chord may lie off its curve
//
// Two chords that follow one another may share their joint; all others that have a point in common are told.
//
// Python's stable ABI from 3.11 on, so that one build serves every version the project runs on.

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000
#include <Python.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <exception>
#include <numeric>
#include <vector>

namespace {

constexpr double UNSURE = 4e-15;  // of the sum of both products: below it rounding may have turned the sign
constexpr double MOST_STEPS = 1e5;

struct Point {
    double x, y;
};

struct Chord {
    Point from, to;
    std::int64_t segment;
    std::size_t next;  // the chord that begins where this one ends
    double left() const { return std::min(from.x, to.x); }
    double right() const { return std::max(from.x, to.x); }
    double low() const { return std::min(from.y, to.y); }
    double high() const { return std::max(from.y, to.y); }
};

// On which side of a → b the point c lies.
int side(const Point& a, const Point& b, const Point& c) {
    const double one = (b.x - a.x) * (c.y - a.y), other = (b.y - a.y) * (c.x - a.x);
    const double turn = one - other;
    if (std::abs(turn) > UNSURE * (std::abs(one) + std::abs(other))) return turn > 0 ? 1 : -1;
    const auto exact = [](double first, double second) { return static_cast<long double>(first) - second; };
    const long double sure = exact(b.x, a.x) * exact(c.y, a.y) - exact(b.y, a.y) * exact(c.x, a.x);
    return (sure > 0) - (sure < 0);
}

bool within(const Chord& chord, const Point& point) {
    return chord.left() <= point.x && point.x <= chord.right() && chord.low() <= point.y && point.y <= chord.high();
}

bool meet(const Chord& a, const Chord& b) {
    const int first = side(a.from, a.to, b.from), second = side(a.from, a.to, b.to);
    if (first * second > 0) return false;
    const int third = side(b.from, b.to, a.from), fourth = side(b.from, b.to, a.to);
    if (third * fourth > 0) return false;
    if (first * second < 0 && third * fourth < 0) return true;
    return (first == 0 && within(a, b.from)) || (second == 0 && within(a, b.to)) || (third == 0 && within(b, a.from)) ||
           (fourth == 0 && within(b, a.to));
}

Point along(const Point& a, const double* controls, const Point& d, double t) {
    const double s = 1 - t, p = s * s * s, q = 3 * s * s * t, u = 3 * s * t * t, v = t * t * t;
    return {p * a.x + q * controls[0] + u * controls[2] + v * d.x, p * a.y + q * controls[1] + u * controls[3] + v * d.y};
}

// max|B''| / (8 n²) is how far n chords leave a cubic; its second derivative lies between its two end values.
std::size_t steps_of(const Point& a, const double* c, const Point& d, double flat) {
    if (std::isnan(c[0])) return 1;
    const double bend = std::max(std::hypot(a.x - 2 * c[0] + c[2], a.y - 2 * c[1] + c[3]),
                                 std::hypot(c[0] - 2 * c[2] + d.x, c[1] - 2 * c[3] + d.y));
    const double steps = std::ceil(std::sqrt(6 * bend / (8 * flat)));
    return static_cast<std::size_t>(std::clamp(steps, 1.0, MOST_STEPS));
}

std::vector<Chord> chords_of(const Point* knots, const double* controls, const std::int64_t* lengths, std::size_t rings,
                             double flat) {
    std::vector<Chord> found;
    std::int64_t first = 0;
    for (std::size_t ring = 0; ring < rings; first += lengths[ring++]) {
        const auto begin = found.size();
        for (std::int64_t k = 0; k < lengths[ring]; ++k) {
            const auto segment = first + k;
            const Point &a = knots[segment], &d = knots[first + (k + 1) % lengths[ring]];
            const double* inner = controls + 4 * segment;
            const auto steps = steps_of(a, inner, d, flat);
            Point from = a;
            for (std::size_t step = 1; step <= steps; ++step) {
                const Point to = step == steps ? d : along(a, inner, d, static_cast<double>(step) / steps);
                found.push_back({from, to, segment, found.size() + 1});
                from = to;
            }
        }
        if (found.size() > begin) found.back().next = begin;
    }
    return found;
}

std::vector<std::int64_t> crossing(const std::vector<Chord>& chords, std::size_t segments) {
    std::vector<std::size_t> order(chords.size());
    std::iota(order.begin(), order.end(), 0);
    std::sort(order.begin(), order.end(), [&](auto a, auto b) { return chords[a].left() < chords[b].left(); });
    std::vector<char> meets(segments, 0);
    for (std::size_t i = 0; i < order.size(); ++i) {
        const auto& one = chords[order[i]];
        const double right = one.right(), low = one.low(), high = one.high();
        for (std::size_t j = i + 1; j < order.size(); ++j) {
            const auto& other = chords[order[j]];
            if (other.left() > right) break;
            if (other.low() > high || other.high() < low) continue;
            if (one.next == order[j] || other.next == order[i]) continue;
            if (meets[one.segment] && meets[other.segment]) continue;
            if (meet(one, other)) meets[one.segment] = meets[other.segment] = 1;
        }
    }
    std::vector<std::int64_t> found;
    for (std::size_t segment = 0; segment < segments; ++segment)
        if (meets[segment]) found.push_back(static_cast<std::int64_t>(segment));
    return found;
}

class Buffer {
  public:
    explicit Buffer(PyObject* object) { held_ = PyObject_GetBuffer(object, &view_, PyBUF_SIMPLE) == 0; }
    ~Buffer() {
        if (held_) PyBuffer_Release(&view_);
    }
    Buffer(const Buffer&) = delete;
    Buffer& operator=(const Buffer&) = delete;
    explicit operator bool() const { return held_; }
    template <typename Value>
    const Value* values() const {
        return static_cast<const Value*>(view_.buf);
    }
    template <typename Value>
    std::size_t count() const {
        return static_cast<std::size_t>(view_.len) / sizeof(Value);
    }

  private:
    Py_buffer view_{};
    bool held_;
};

PyObject* told(PyObject*, PyObject* arguments) {
    PyObject *first, *second, *third;
    double flat;
    if (!PyArg_ParseTuple(arguments, "OOOd", &first, &second, &third, &flat)) return nullptr;
    const Buffer knots(first), controls(second), lengths(third);
    if (!knots || !controls || !lengths) return nullptr;
    const auto rings = lengths.count<std::int64_t>(), count = knots.count<Point>();
    const auto* each = lengths.values<std::int64_t>();
    std::size_t all = 0;
    for (std::size_t ring = 0; ring < rings; ++ring) {
        if (each[ring] < 0 || static_cast<std::size_t>(each[ring]) > count - all) {
            all = count + 1;
            break;
        }
        all += static_cast<std::size_t>(each[ring]);
    }
    if (all != count || controls.count<double>() != 4 * count || !(flat > 0)) {
        PyErr_SetString(PyExc_ValueError, "the arrays do not fit each other");
        return nullptr;
    }
    std::vector<std::int64_t> found;
    bool failed = false;
    Py_BEGIN_ALLOW_THREADS
    try {
        const auto chords = chords_of(knots.values<Point>(), controls.values<double>(), each, rings, flat);
        found = crossing(chords, count);
    } catch (const std::exception&) {
        failed = true;  // there was no room
    }
    Py_END_ALLOW_THREADS
    if (failed) return PyErr_NoMemory();
    return PyBytes_FromStringAndSize(reinterpret_cast<const char*>(found.data()),
                                     static_cast<Py_ssize_t>(found.size() * sizeof(std::int64_t)));
}

PyMethodDef methods[] = {
    {"crossing", told, METH_VARARGS, "Numbers of the segments that meet others, int64 as bytes."},
    {nullptr, nullptr, 0, nullptr},
};

PyModuleDef module = {
    PyModuleDef_HEAD_INIT, "_crossing", "Curves that meet where they should not.", -1, methods,
    nullptr, nullptr, nullptr, nullptr,
};

}  // namespace

PyMODINIT_FUNC PyInit__crossing(void) { return PyModule_Create(&module); }
