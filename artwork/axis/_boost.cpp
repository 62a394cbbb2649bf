// Boost.Polygon's Voronoi diagram of segments, read out as arrays.
//
// One function: diagram(segments) -> (vertices, halves, cells), bytes in, bytes out.
//   segments  n rows of four int32: x, y of both ends; no two segments share more than ends
//   vertices  rows of two float64: x, y
//   halves    rows of two int32: start vertex (-1 at infinity) and cell; 2i and 2i + 1 are twins
//   cells     rows of two int32: the segment and Boost's source category
//
// Where doubles cannot tell, Boost computes with whole numbers of up to 2048 bits, and half of all time went there. So
// these numbers are our own: the same values to the last bit, in 64-bit limbs, and only as many of them copied as are
// used.
//
// Python's stable ABI from 3.11 on, so that one build serves every version the project runs on.

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000
#include <Python.h>

#include <boost/polygon/voronoi_builder.hpp>
#include <boost/polygon/voronoi_diagram.hpp>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <exception>
#include <string>
#include <utility>

namespace {

// ── whole numbers, and floating-point numbers with a wide exponent ────────────────────────────────────────────────

// A whole number of up to 2048 bits: what Boost's own extended_int<64> is, for the operations that predicates need.
class Whole {
public:
    Whole() : count_(0), negative_(false) {}
    Whole(std::int32_t value) : Whole(static_cast<std::int64_t>(value)) {}
    Whole(std::int64_t value) : count_(value != 0), negative_(value < 0) {
        limbs_[0] = negative_ ? ~static_cast<std::uint64_t>(value) + 1 : static_cast<std::uint64_t>(value);
    }
    Whole(const Whole& that) { take(that); }
    Whole& operator=(const Whole& that) {
        if (this != &that) take(that);
        return *this;
    }

    bool is_neg() const { return count_ > 0 && negative_; }
    bool is_zero() const { return count_ == 0; }

    Whole operator-() const {
        Whole found(*this);
        found.negative_ = !negative_;
        return found;
    }
    Whole operator+(const Whole& that) const { return sum(*this, that, that.negative_); }
    Whole operator-(const Whole& that) const { return sum(*this, that, !that.negative_); }
    Whole operator*(const Whole& that) const {
        Whole found;
        if (count_ == 0 || that.count_ == 0) return found;
        found.negative_ = negative_ != that.negative_;
        const int most = count_ + that.count_ < kLimbs ? count_ + that.count_ : kLimbs;
        found.limbs_[that.count_] = times(limbs_[0], that, that.count_, found.limbs_);
        for (int i = 1; i < count_; ++i) {
            const int kept = that.count_ < most - i ? that.count_ : most - i;
            const std::uint64_t over = add_times(limbs_[i], that, kept, found.limbs_ + i);
            if (i + kept < most) found.limbs_[i + kept] = over;
        }
        found.count_ = most - (found.limbs_[most - 1] == 0);
        return found;
    }

    // The leading 96 bits or fewer, rounded as Boost does, and by how many bits they are shifted.
    std::pair<double, int> leading() const {
        if (count_ == 0) return {0.0, 0};
        const std::uint64_t top = limbs_[count_ - 1];
        const double sign = negative_ ? -1.0 : 1.0;
        if (count_ == 1) return {sign * static_cast<double>(top), 0};
        const std::uint64_t next = limbs_[count_ - 2];
        if (top >> 32 == 0) {  // 32 and 64 bits
            return {sign * (static_cast<double>(top << 32 | next >> 32) * kHalf + low_half(next)), 64 * count_ - 128};
        }
        return {sign * (static_cast<double>(top) * kHalf + low_half(next >> 32)), 64 * count_ - 96};
    }

private:
    static constexpr int kLimbs = 32;
    static constexpr double kHalf = 4294967296.0;  // of a limb: 2 to the 32

    void take(const Whole& that) {
        count_ = that.count_;
        negative_ = that.negative_;
        std::memcpy(limbs_, that.limbs_, sizeof(std::uint64_t) * count_);
    }
    static double low_half(std::uint64_t limb) { return static_cast<double>(limb & 0xffffffffULL); }

    // into = factor · that, and into += factor · that; what goes beyond the last limb is given back
    static std::uint64_t times(std::uint64_t factor, const Whole& that, int limbs, std::uint64_t* into) {
        unsigned __int128 carry = 0;
        for (int j = 0; j < limbs; ++j) {
            carry += static_cast<unsigned __int128>(factor) * that.limbs_[j];
            into[j] = static_cast<std::uint64_t>(carry);
            carry >>= 64;
        }
        return static_cast<std::uint64_t>(carry);
    }
    static std::uint64_t add_times(std::uint64_t factor, const Whole& that, int limbs, std::uint64_t* into) {
        unsigned __int128 carry = 0;
        for (int j = 0; j < limbs; ++j) {
            carry += static_cast<unsigned __int128>(factor) * that.limbs_[j] + into[j];
            into[j] = static_cast<std::uint64_t>(carry);
            carry >>= 64;
        }
        return static_cast<std::uint64_t>(carry);
    }

    void trim() {
        while (count_ > 0 && limbs_[count_ - 1] == 0) --count_;
    }

    // one plus other, the sign of other given
    static Whole sum(const Whole& one, const Whole& other, bool negative) {
        Whole found;
        if (one.negative_ == negative) {
            found.add(one, other);
            found.negative_ = negative;
        } else if (smaller(one, other)) {
            found.subtract(other, one);
            found.negative_ = negative;
        } else {
            found.subtract(one, other);
            found.negative_ = one.negative_;
        }
        return found;
    }
    static bool smaller(const Whole& one, const Whole& other) {  // by size, without signs
        if (one.count_ != other.count_) return one.count_ < other.count_;
        for (int i = one.count_ - 1; i >= 0; --i) {
            if (one.limbs_[i] != other.limbs_[i]) return one.limbs_[i] < other.limbs_[i];
        }
        return false;
    }
    void add(const Whole& one, const Whole& other) {
        const Whole& longer = one.count_ < other.count_ ? other : one;
        const Whole& shorter = one.count_ < other.count_ ? one : other;
        unsigned __int128 carry = 0;
        for (int i = 0; i < longer.count_; ++i) {
            carry += longer.limbs_[i];
            if (i < shorter.count_) carry += shorter.limbs_[i];
            limbs_[i] = static_cast<std::uint64_t>(carry);
            carry >>= 64;
        }
        count_ = longer.count_;
        if (carry != 0 && count_ < kLimbs) limbs_[count_++] = static_cast<std::uint64_t>(carry);
    }
    void subtract(const Whole& larger, const Whole& less) {
        std::uint64_t borrow = 0;
        for (int i = 0; i < larger.count_; ++i) {
            const std::uint64_t taken = i < less.count_ ? less.limbs_[i] : 0;
            const std::uint64_t rest = larger.limbs_[i] - taken;
            limbs_[i] = rest - borrow;
            borrow = (larger.limbs_[i] < taken) || (rest < borrow);
        }
        count_ = larger.count_;
        trim();
    }

    int count_;
    bool negative_;
    std::uint64_t limbs_[kLimbs + 1];  // one more than may count: what a row carries over
};

bool is_neg(const Whole& that) { return that.is_neg(); }
bool is_zero(const Whole& that) { return that.is_zero(); }

// value times 2 to the exponent, the value's size in [½, 1) or 0: what Boost's extended_exponent_fpt<double> is.
class Scaled {
public:
    explicit Scaled(double value, int exponent = 0) {
        constexpr std::uint64_t kField = 0x7ffULL << 52;
        std::uint64_t bits;
        std::memcpy(&bits, &value, sizeof bits);
        const int field = static_cast<int>((bits & kField) >> 52);
        if (field == 0 || field == 0x7ff) {  // 0, or what has no ordinary exponent
            value_ = std::frexp(value, &exponent_);
            exponent_ += exponent;
            return;
        }
        bits = (bits & ~kField) | (1022ULL << 52);
        std::memcpy(&value_, &bits, sizeof bits);
        exponent_ = field - 1022 + exponent;
    }

    bool is_pos() const { return value_ > 0; }
    bool is_neg() const { return value_ < 0; }

    Scaled operator-() const { return Scaled(-value_, exponent_); }
    Scaled operator+(const Scaled& that) const {
        if (value_ == 0 || that.exponent_ > exponent_ + kFar) return that;
        if (that.value_ == 0 || exponent_ > that.exponent_ + kFar) return *this;
        if (exponent_ >= that.exponent_) {
            return Scaled(value_ * power(exponent_ - that.exponent_) + that.value_, that.exponent_);
        }
        return Scaled(that.value_ * power(that.exponent_ - exponent_) + value_, exponent_);
    }
    Scaled operator-(const Scaled& that) const { return *this + -that; }
    Scaled operator*(const Scaled& that) const { return Scaled(value_ * that.value_, exponent_ + that.exponent_); }
    Scaled operator/(const Scaled& that) const { return Scaled(value_ / that.value_, exponent_ - that.exponent_); }
    Scaled& operator+=(const Scaled& that) { return *this = *this + that; }
    Scaled& operator-=(const Scaled& that) { return *this = *this - that; }
    Scaled& operator*=(const Scaled& that) { return *this = *this * that; }
    Scaled& operator/=(const Scaled& that) { return *this = *this / that; }
    Scaled root() const {
        const bool odd = exponent_ & 1;
        return Scaled(std::sqrt(odd ? value_ * 2 : value_), (exponent_ - odd) / 2);
    }
    double whole() const { return std::ldexp(value_, exponent_); }

private:
    static constexpr int kFar = 54;  // farther apart, the smaller one is lost
    static double power(int exponent) { return static_cast<double>(1ULL << exponent); }

    double value_;
    int exponent_;
};

bool is_pos(const Scaled& that) { return that.is_pos(); }
bool is_neg(const Scaled& that) { return that.is_neg(); }
Scaled get_sqrt(const Scaled& that) { return that.root(); }

struct ToDouble {
    template <typename Number>
    double operator()(const Number& that) const {
        return static_cast<double>(that);
    }
    double operator()(const Whole& that) const {
        const auto found = that.leading();
        return std::ldexp(found.first, found.second);
    }
    double operator()(const Scaled& that) const { return that.whole(); }
};

struct ToScaled {
    Scaled operator()(const Whole& that) const {
        const auto found = that.leading();
        return Scaled(found.first, found.second);
    }
};

struct Numbers : boost::polygon::detail::voronoi_ctype_traits<std::int32_t> {
    using big_int_type = Whole;
    using efpt_type = Scaled;
    using to_fpt_converter_type = ToDouble;
    using to_efpt_converter_type = ToScaled;
};

// ── the diagram ───────────────────────────────────────────────────────────────────────────────────────────────────

using Diagram = boost::polygon::voronoi_diagram<double>;
using Builder = boost::polygon::voronoi_builder<std::int32_t, Numbers>;

void build(const std::int32_t* segments, Py_ssize_t count, Diagram& diagram) {
    Builder builder;
    for (Py_ssize_t i = 0; i < count; ++i, segments += 4) {
        builder.insert_segment(segments[0], segments[1], segments[2], segments[3]);
    }
    builder.construct(&diagram);
}

PyObject* rows(std::size_t count, std::size_t row) {
    return PyBytes_FromStringAndSize(nullptr, static_cast<Py_ssize_t>(count * row));
}

PyObject* read_vertices(const Diagram& diagram) {
    PyObject* found = rows(diagram.num_vertices(), 2 * sizeof(double));
    if (found == nullptr) return nullptr;
    auto* out = reinterpret_cast<double*>(PyBytes_AsString(found));
    for (const auto& vertex : diagram.vertices()) {
        *out++ = vertex.x();
        *out++ = vertex.y();
    }
    return found;
}

PyObject* read_halves(const Diagram& diagram) {
    PyObject* found = rows(diagram.num_edges(), 2 * sizeof(std::int32_t));
    if (found == nullptr) return nullptr;
    auto* out = reinterpret_cast<std::int32_t*>(PyBytes_AsString(found));
    const auto* first_vertex = diagram.vertices().data();
    const auto* first_cell = diagram.cells().data();
    for (const auto& edge : diagram.edges()) {
        const auto* start = edge.vertex0();
        *out++ = start == nullptr ? -1 : static_cast<std::int32_t>(start - first_vertex);
        *out++ = static_cast<std::int32_t>(edge.cell() - first_cell);
    }
    return found;
}

PyObject* read_cells(const Diagram& diagram) {
    PyObject* found = rows(diagram.num_cells(), 2 * sizeof(std::int32_t));
    if (found == nullptr) return nullptr;
    auto* out = reinterpret_cast<std::int32_t*>(PyBytes_AsString(found));
    for (const auto& cell : diagram.cells()) {
        *out++ = static_cast<std::int32_t>(cell.source_index());
        *out++ = static_cast<std::int32_t>(cell.source_category());
    }
    return found;
}

PyObject* diagram(PyObject*, PyObject* segments) {
    Py_buffer view;
    if (PyObject_GetBuffer(segments, &view, PyBUF_SIMPLE) != 0) return nullptr;
    if (view.len % static_cast<Py_ssize_t>(4 * sizeof(std::int32_t)) != 0) {
        PyBuffer_Release(&view);
        PyErr_SetString(PyExc_ValueError, "segments must be rows of four int32");
        return nullptr;
    }
    Diagram found;
    std::string failure;
    Py_BEGIN_ALLOW_THREADS
    try {
        const auto* first = static_cast<const std::int32_t*>(view.buf);
        build(first, view.len / static_cast<Py_ssize_t>(4 * sizeof(std::int32_t)), found);
    } catch (const std::exception& error) {
        failure = *error.what() ? error.what() : "unknown";
    }
    Py_END_ALLOW_THREADS
    PyBuffer_Release(&view);
    if (!failure.empty()) {
        PyErr_Format(PyExc_RuntimeError, "the Voronoi diagram could not be built: %s", failure.c_str());
        return nullptr;
    }
    PyObject* vertices = read_vertices(found);
    PyObject* halves = read_halves(found);
    PyObject* cells = read_cells(found);
    if (vertices == nullptr || halves == nullptr || cells == nullptr) {
        Py_XDECREF(vertices);
        Py_XDECREF(halves);
        Py_XDECREF(cells);
        return nullptr;
    }
    return Py_BuildValue("(NNN)", vertices, halves, cells);
}

PyMethodDef methods[] = {
    {"diagram", diagram, METH_O, "Voronoi diagram of segments: (vertices, halves, cells) as bytes."},
    {nullptr, nullptr, 0, nullptr},
};

PyModuleDef module = {
    PyModuleDef_HEAD_INIT, "_boost", "Boost.Polygon's Voronoi diagram of segments.", -1, methods,
    nullptr, nullptr, nullptr, nullptr,
};

}  // namespace

PyMODINIT_FUNC PyInit__boost(void) { return PyModule_Create(&module); }
