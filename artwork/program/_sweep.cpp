// A bit swept along straight moves: how deep each cell of a grid is cut; and how long the moves take.
//
//   sweep(moves, tip_radius, slope, radius, columns, rows, cell, left, top) -> float32 depths as bytes
//     moves    n rows of six float64: x, y, z of both ends, mm, z upwards, 0 at the face
//     depths   rows x columns, row 0 at the top; depth below z = 0 at each cell's centre, 0 where nothing is cut
//   seconds(moves, speeds, acceleration, corner) -> float64 seconds of each move as bytes
//     speeds   n float64, mm/s; moves as above
//
// The bit is a flat tip of tip_radius, a cone whose half-width grows by slope per mm (0: a straight bit), and a cylinder of
// radius. At a distance r from the axis the cone stands max(r - tip_radius, 0) / slope above the tip. Along a move the depth
// at a cell is concave in the tip's place s, so the deepest is at the one stationary place, or at an end.
//
// Python's stable ABI from 3.11 on, so that one build serves every version the project runs on.

#pragma GCC optimize("O3", "no-math-errno", "no-trapping-math")

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000
#include <Python.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <vector>

namespace {

struct Bit {
    float tip, slope, radius;
};

struct Grid {
    float* depth;
    int columns, rows;
    double cell, left, top;
};

// The part of a row, in cells, whose centres lie where lowest <= a + b * column <= highest.
void narrow(double a, double b, double lowest, double highest, int& first, int& last) {
    if (std::abs(b) < 1e-12) {
        if (a < lowest || a > highest) last = first - 1;
        return;
    }
    double c0 = (lowest - a) / b, c1 = (highest - a) / b;
    if (c0 > c1) std::swap(c0, c1);
    first = static_cast<int>(std::max<double>(first, std::ceil(std::max(c0, -1.0))));
    last = static_cast<int>(std::min<double>(last, std::floor(std::min(c1, 1e9))));
}

// One move: along its direction u, across it v; depth at the tip begin + gain * s for s from 0 to length.
struct Move {
    double x, y, dx, dy;
    float length, begin, gain;
};

template <typename Cell>
void over(const Grid& grid, const Move& move, double along, double across, Cell cell) {
    const double ends_y[2] = {move.y, move.y + move.dy * move.length};
    const double high = std::max(ends_y[0], ends_y[1]) + std::max(along, across);
    const double low = std::min(ends_y[0], ends_y[1]) - std::max(along, across);
    const int top = std::max(0, static_cast<int>(std::floor((grid.top - high) / grid.cell)));
    const int bottom = std::min(grid.rows - 1, static_cast<int>(std::ceil((grid.top - low) / grid.cell)));
    for (int row = top; row <= bottom; ++row) {
        const double py = grid.top - (row + 0.5) * grid.cell - move.y;
        const double px = grid.left + 0.5 * grid.cell - move.x;
        const double u0 = px * move.dx + py * move.dy, v0 = py * move.dx - px * move.dy;
        const double du = grid.cell * move.dx, dv = -grid.cell * move.dy;
        int first = 0, last = grid.columns - 1;
        narrow(u0, du, -along, move.length + along, first, last);
        narrow(v0, dv, -across, across, first, last);
        float* out = grid.depth + static_cast<std::size_t>(row) * grid.columns;
        cell(out, first, last, static_cast<float>(u0), static_cast<float>(du), static_cast<float>(v0), static_cast<float>(dv));
    }
}

void cone(const Grid& grid, const Move& move, const Bit& bit, float deepest) {
    const float k = move.gain * bit.slope;  // at 1 and beyond the move is steeper than the cone: one end is deepest
    const float lead = std::abs(k) < 1 ? k / std::sqrt(1 - k * k) : std::copysign(1e9f, k);
    const float steep = 1 / bit.slope;
    const double reach = std::min<double>(bit.tip + deepest * bit.slope, bit.radius);
    over(grid, move, reach, reach, [&](float* out, int first, int last, float u0, float du, float v0, float dv) {
        for (int column = first; column <= last; ++column) {
            const float u = u0 + du * column, v = std::abs(v0 + dv * column);
            const float s = std::min(std::max(u + lead * v, 0.0f), move.length);
            const float r = std::sqrt((s - u) * (s - u) + v * v);
            float depth = move.begin + move.gain * s - std::max(r - bit.tip, 0.0f) * steep;
            depth = r > bit.radius ? 0.0f : depth;
            out[column] = std::max(out[column], depth);
        }
    });
}

// Under the flat tip the deepest place is where the tip's rim still covers the cell.
void tip(const Grid& grid, const Move& move, const Bit& bit) {
    const float sign = move.gain > 0 ? 1.0f : -1.0f;
    over(grid, move, bit.tip, bit.tip, [&](float* out, int first, int last, float u0, float du, float v0, float dv) {
        for (int column = first; column <= last; ++column) {
            const float u = u0 + du * column, v = v0 + dv * column;
            const float rim = std::sqrt(std::max(bit.tip * bit.tip - v * v, 0.0f));
            const float s = std::min(std::max(u + sign * rim, 0.0f), move.length);
            if ((s - u) * (s - u) + v * v <= bit.tip * bit.tip * 1.0001f) {
                out[column] = std::max(out[column], move.begin + move.gain * s);
            }
        }
    });
}

void sweep_one(const Grid& grid, const double* m, const Bit& bit) {
    const double dx = m[3] - m[0], dy = m[4] - m[1], length = std::hypot(dx, dy);
    const float deepest = static_cast<float>(-std::min(m[2], m[5]));
    if (!(deepest > 0)) return;  // above the face all the way
    Move move{m[0], m[1], 1.0, 0.0, 0.0f, static_cast<float>(-m[2]), 0.0f};
    if (length > 1e-9) {
        move.dx = dx / length;
        move.dy = dy / length;
        move.length = static_cast<float>(length);
        move.gain = static_cast<float>((m[2] - m[5]) / length);
    } else {
        move.begin = deepest;
    }
    if (bit.slope > 0) cone(grid, move, bit, deepest);
    if (bit.tip > 0) tip(grid, move, bit);
}

struct Buffer {
    Py_buffer view{};
    bool held = false;
    ~Buffer() {
        if (held) PyBuffer_Release(&view);
    }
    bool take(PyObject* object) { return held = PyObject_GetBuffer(object, &view, PyBUF_SIMPLE) == 0; }
    const double* numbers() const { return static_cast<const double*>(view.buf); }
    Py_ssize_t count() const { return view.len / static_cast<Py_ssize_t>(sizeof(double)); }
};

PyObject* sweep(PyObject*, PyObject* arguments) {
    PyObject* object;
    double tip_radius, slope, radius;
    Grid grid{};
    if (!PyArg_ParseTuple(arguments, "Odddiiddd", &object, &tip_radius, &slope, &radius, &grid.columns, &grid.rows,
                          &grid.cell, &grid.left, &grid.top)) {
        return nullptr;
    }
    Buffer moves;
    if (!moves.take(object)) return nullptr;
    if (moves.count() % 6 != 0 || grid.columns < 1 || grid.rows < 1 || !(grid.cell > 0)) {
        PyErr_SetString(PyExc_ValueError, "moves must be rows of six float64, the grid larger than nothing");
        return nullptr;
    }
    const std::size_t cells = static_cast<std::size_t>(grid.columns) * grid.rows;
    PyObject* found = PyBytes_FromStringAndSize(nullptr, static_cast<Py_ssize_t>(cells * sizeof(float)));
    if (found == nullptr) return nullptr;
    grid.depth = reinterpret_cast<float*>(PyBytes_AsString(found));
    std::memset(grid.depth, 0, cells * sizeof(float));
    const Bit bit{static_cast<float>(tip_radius), static_cast<float>(slope), static_cast<float>(radius)};
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < moves.count() / 6; ++i) sweep_one(grid, moves.numbers() + 6 * i, bit);
    Py_END_ALLOW_THREADS
    return found;
}

// Highest speed at a corner: that of the circle which leaves it by at most `corner` mm.
double corner_speed(const double* a, const double* b, double acceleration, double corner) {
    double dot = 0, la = 0, lb = 0;
    for (int i = 0; i < 3; ++i) {
        const double p = a[3 + i] - a[i], q = b[3 + i] - b[i];
        dot += p * q;
        la += p * p;
        lb += q * q;
    }
    if (la == 0 || lb == 0) return 0;
    const double cosine = std::max(-1.0, std::min(1.0, dot / std::sqrt(la * lb)));
    const double half = std::sqrt((1 + cosine) / 2);  // cosine of half the turn
    if (half > 1 - 1e-12) return 1e9;
    return std::sqrt(acceleration * corner * half / (1 - half));
}

double length_of(const double* m) {
    return std::sqrt((m[3] - m[0]) * (m[3] - m[0]) + (m[4] - m[1]) * (m[4] - m[1]) + (m[5] - m[2]) * (m[5] - m[2]));
}

// Trapezoid: from v0 up to at most top and down to v1 over a length.
double travel(double length, double v0, double v1, double top, double a) {
    const double peak = std::min(top, std::sqrt(std::max(a * length + (v0 * v0 + v1 * v1) / 2, 0.0)));
    const double high = std::max({peak, v0, v1});
    const double ramps = (2 * high * high - v0 * v0 - v1 * v1) / (2 * a);
    return (2 * high - v0 - v1) / a + std::max(length - ramps, 0.0) / high;
}

PyObject* seconds(PyObject*, PyObject* arguments) {
    PyObject *move_object, *speed_object;
    double acceleration, corner;
    if (!PyArg_ParseTuple(arguments, "OOdd", &move_object, &speed_object, &acceleration, &corner)) return nullptr;
    Buffer moves, speeds;
    if (!moves.take(move_object) || !speeds.take(speed_object)) return nullptr;
    const Py_ssize_t n = speeds.count();
    if (moves.count() != 6 * n || !(acceleration > 0)) {
        PyErr_SetString(PyExc_ValueError, "one speed a move, and an acceleration above 0");
        return nullptr;
    }
    PyObject* found = PyBytes_FromStringAndSize(nullptr, n * static_cast<Py_ssize_t>(sizeof(double)));
    if (found == nullptr) return nullptr;
    auto* out = reinterpret_cast<double*>(PyBytes_AsString(found));
    Py_BEGIN_ALLOW_THREADS
    const double* m = moves.numbers();
    const double* top = speeds.numbers();
    std::vector<double> at(static_cast<std::size_t>(n) + 1, 0.0);  // speed at the beginning of each move
    for (Py_ssize_t i = 1; i < n; ++i) {
        at[i] = std::min({top[i - 1], top[i], corner_speed(m + 6 * (i - 1), m + 6 * i, acceleration, corner)});
    }
    for (Py_ssize_t i = 0; i < n; ++i) {
        at[i + 1] = std::min(at[i + 1], std::sqrt(at[i] * at[i] + 2 * acceleration * length_of(m + 6 * i)));
    }
    for (Py_ssize_t i = n; i > 0; --i) {
        at[i - 1] = std::min(at[i - 1], std::sqrt(at[i] * at[i] + 2 * acceleration * length_of(m + 6 * (i - 1))));
    }
    for (Py_ssize_t i = 0; i < n; ++i) {
        const double length = length_of(m + 6 * i);
        out[i] = length > 0 ? travel(length, at[i], at[i + 1], top[i], acceleration) : 0.0;
    }
    Py_END_ALLOW_THREADS
    return found;
}

PyMethodDef methods[] = {
    {"sweep", sweep, METH_VARARGS, "Depths that a bit cuts along moves, as float32 bytes."},
    {"seconds", seconds, METH_VARARGS, "Seconds that each move takes, as float64 bytes."},
    {nullptr, nullptr, 0, nullptr},
};

PyModuleDef module = {
    PyModuleDef_HEAD_INIT, "_sweep", "A bit swept along the moves of a program.", -1, methods,
    nullptr, nullptr, nullptr, nullptr,
};

}  // namespace

PyMODINIT_FUNC PyInit__sweep(void) { return PyModule_Create(&module); }
