// The least shifts that meet what is asked: which requirements press is found in rounds, each a sparse solve.
//
//   press(resistance, rows, lack, weight, pull, most, held, rounds, clear, halvings) -> float64 shifts as bytes
//     resistance, rows   (starts int32, columns int32, values float64): compressed rows; the first square and symmetric
//     lack, weight       float64 of each row
//     pull               float64 of each unknown
//     most, held         how far a point may go, and the weight of that
//
// Least is  x' resistance x / 2 - pull' x + sum weight max(lack - rows x, 0)^2 / 2
//           + sum over points held max(|shift| - most, 0)^2 / 2.
//
// Unknown u and unknown u + n/2 are the two coordinates of one point, so everything is kept in blocks of two by two. The
// order of elimination is of least degree over all that may press, found once. A round takes in the rows that have begun
// to press and takes out those that have ceased to; then the factors L D L' are made row by row up the elimination tree
// (T. Davis, Algorithm 849) over the blocks that are in use.
//
// Python's stable ABI from 3.11 on, so that one build serves every version the project runs on.

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000
#include <Python.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <numeric>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace {

using Ints = std::vector<std::int32_t>;
using Floats = std::vector<double>;

constexpr double LEAST_PIVOT = 1e-12;  // below it is what rounding has left of nothing
constexpr double ROUNDING = 1e-9;      // of the slope at the beginning of a way so much at its end is none

struct Rows {
    const std::int32_t* start;
    const std::int32_t* column;
    const double* value;
    std::int32_t count;
};

struct Problem {
    Rows resistance, rows;
    const double *lack, *weight, *pull;
    std::int32_t unknowns;
    int rounds, halvings;
    double clear, most, held;
};

// What a row asks of one point.
struct Ask {
    std::int32_t point;
    double x, y;
};

// Two rows by two columns.
struct Block {
    double xx = 0.0, xy = 0.0, yx = 0.0, yy = 0.0;
};

// Rows gathered by point: those of row r are asks[start[r]] to asks[start[r + 1]], by ascending point.
struct Asked {
    std::vector<Ask> asks;
    std::vector<std::size_t> start;
};

Asked by_point(const Rows& rows, std::int32_t points) {
    Asked found;
    found.start.push_back(0);
    for (std::int32_t row = 0; row < rows.count; ++row) {
        const auto first = found.asks.size();
        for (auto at = rows.start[row]; at < rows.start[row + 1]; ++at) {
            if (rows.value[at] == 0.0) continue;
            const auto point = rows.column[at] % points;
            auto own = first;
            while (own < found.asks.size() && found.asks[own].point != point) ++own;
            if (own == found.asks.size()) found.asks.push_back({point, 0.0, 0.0});
            (rows.column[at] < points ? found.asks[own].x : found.asks[own].y) += rows.value[at];
        }
        std::sort(found.asks.begin() + static_cast<std::ptrdiff_t>(first), found.asks.end(),
                  [](const Ask& a, const Ask& b) { return a.point < b.point; });
        found.start.push_back(found.asks.size());
    }
    return found;
}

// Which points each point is coupled with, by the curves or by any row; ascending, without itself.
std::vector<Ints> coupled(const Rows& resistance, const Asked& asked, std::int32_t points) {
    std::vector<Ints> found(points);
    for (std::int32_t i = 0; i < 2 * points; ++i)
        for (auto at = resistance.start[i]; at < resistance.start[i + 1]; ++at)
            found[i % points].push_back(resistance.column[at] % points);
    std::size_t before = 0, before_end = 0;
    for (std::size_t row = 0; row + 1 < asked.start.size(); ++row) {
        const auto first = asked.start[row], end = asked.start[row + 1];
        // both ends of a stretch, and the stretches beside it, are between the same curves
        const bool same = end - first == before_end - before &&
                          std::equal(asked.asks.begin() + first, asked.asks.begin() + end, asked.asks.begin() + before,
                                     [](const Ask& a, const Ask& b) { return a.point == b.point; });
        before = first;
        before_end = end;
        if (same) continue;
        for (auto a = first; a < end; ++a)
            for (auto b = first; b < end; ++b) found[asked.asks[a].point].push_back(asked.asks[b].point);
    }
    for (std::int32_t point = 0; point < points; ++point) {
        auto& near = found[point];
        std::sort(near.begin(), near.end());
        near.erase(std::unique(near.begin(), near.end()), near.end());
        near.erase(std::remove(near.begin(), near.end(), point), near.end());
    }
    return found;
}

// Points in the order of elimination: always one that has the fewest neighbours left.
Ints by_least_degree(std::vector<Ints> near) {
    const auto points = static_cast<std::int32_t>(near.size());
    std::vector<Ints> waiting;  // by degree; those whose degree has changed since are passed over
    const auto wait = [&](std::int32_t point) {
        if (near[point].size() >= waiting.size()) waiting.resize(near[point].size() + 1);
        waiting[near[point].size()].push_back(point);
    };
    for (std::int32_t point = points; point-- > 0;) wait(point);
    std::vector<char> done(points, 0);
    Ints order, joined;
    order.reserve(points);
    for (std::size_t degree = 0; degree < waiting.size();) {
        if (waiting[degree].empty()) {
            ++degree;
            continue;
        }
        const auto point = waiting[degree].back();
        waiting[degree].pop_back();
        if (done[point] || near[point].size() != degree) continue;
        done[point] = 1;
        order.push_back(point);
        const Ints clique = std::move(near[point]);
        near[point].clear();
        for (auto other : clique) {
            auto& own = near[other];
            joined.clear();
            std::set_union(own.begin(), own.end(), clique.begin(), clique.end(), std::back_inserter(joined));
            joined.erase(std::remove_if(joined.begin(), joined.end(),
                                        [&](std::int32_t each) { return each == point || each == other; }),
                         joined.end());
            own = joined;
            wait(other);
            degree = std::min(degree, own.size());
        }
    }
    return order;
}

// The matrix of the curves' resistance and of the rows that press: the blocks on and above the diagonal, column by column.
class Matrix {
  public:
    Matrix(const Problem& problem, Asked& asked)
        : asked_(asked), weight_(problem.weight), points_(problem.unknowns / 2), slots_(problem.rows.count) {
        const auto near = coupled(problem.resistance, asked, points_);
        const Ints order = by_least_degree(near);
        place_.resize(points_);
        for (std::int32_t at = 0; at < points_; ++at) place_[order[at]] = at;
        start_.push_back(0);
        for (std::int32_t k = 0; k < points_; ++k) {
            const auto first = row_.size();
            for (auto other : near[order[k]])
                if (place_[other] < k) row_.push_back(place_[other]);
            std::sort(row_.begin() + static_cast<std::ptrdiff_t>(first), row_.end());
            row_.push_back(k);
            start_.push_back(row_.size());
        }
        block_.resize(row_.size());
        uses_.assign(row_.size(), 0);
        resist(problem.resistance);
        for (auto& ask : asked_.asks) ask.point = place_[ask.point];
        for (std::int32_t row = 0; row < problem.rows.count; ++row)
            std::sort(asked_.asks.begin() + asked_.start[row], asked_.asks.begin() + asked_.start[row + 1],
                      [](const Ask& a, const Ask& b) { return a.point < b.point; });
    }

    // A row begins to press, or ceases to.
    void turn(std::int32_t row, bool pressing) {
        auto& slots = slots_[row];
        const auto first = asked_.start[row], end = asked_.start[row + 1];
        if (slots.empty())
            for (auto a = first; a < end; ++a)
                for (auto b = first; b <= a; ++b) slots.push_back(slot(asked_.asks[b].point, asked_.asks[a].point));
        const double weight = pressing ? weight_[row] : -weight_[row];
        auto at = slots.begin();
        for (auto a = first; a < end; ++a) {
            const auto& column = asked_.asks[a];
            for (auto b = first; b <= a; ++b, ++at) {
                const auto& line = asked_.asks[b];
                auto& block = block_[*at];
                if (pressing)
                    ++uses_[*at];
                else if (--uses_[*at] == 0) {
                    block = {};
                    continue;
                }
                block.xx += weight * line.x * column.x;
                block.xy += weight * line.x * column.y;
                block.yx += weight * line.y * column.x;
                block.yy += weight * line.y * column.y;
            }
        }
    }

    // Points that have gone too far are held back: with this second derivative, block by block (all as they stand).
    void hold(const std::vector<Block>& held) {
        held_.resize(points_);
        for (std::int32_t point = 0; point < points_; ++point) held_[place_[point]] = held[point];
    }

    std::int32_t points() const { return points_; }
    std::int32_t place(std::int32_t point) const { return place_[point]; }

    // Every block of a column that is in use, with its row.
    template <typename Take>
    void column(std::int32_t k, Take take) const {
        for (auto at = start_[k]; at < start_[k + 1]; ++at) {
            if (uses_[at] == 0) continue;
            if (row_[at] != k) {
                take(row_[at], block_[at]);
                continue;
            }
            Block own = block_[at];
            own.xx += held_[k].xx;
            own.xy += held_[k].xy;
            own.yx += held_[k].yx;
            own.yy += held_[k].yy;
            take(k, own);
        }
    }

  private:
    Asked& asked_;
    const double* weight_;
    std::int32_t points_;
    Ints place_, row_, uses_;
    std::vector<std::size_t> start_;
    std::vector<Block> block_, held_;
    std::vector<Ints> slots_;  // of each row that has pressed, the blocks that it is in

    std::int32_t slot(std::int32_t line, std::int32_t column) const {
        const auto first = row_.begin() + static_cast<std::ptrdiff_t>(start_[column]);
        const auto end = row_.begin() + static_cast<std::ptrdiff_t>(start_[column + 1]);
        return static_cast<std::int32_t>(std::lower_bound(first, end, line) - row_.begin());
    }

    void resist(const Rows& curves) {
        for (std::int32_t i = 0; i < 2 * points_; ++i)
            for (auto at = curves.start[i]; at < curves.start[i + 1]; ++at) {
                const auto j = curves.column[at];
                const auto line = place_[i % points_], column = place_[j % points_];
                if (line > column) continue;
                const auto where = slot(line, column);
                uses_[where] = 1;  // for good
                auto& block = block_[where];
                auto& value = i < points_ ? (j < points_ ? block.xx : block.xy) : (j < points_ ? block.yx : block.yy);
                value += curves.value[at];
            }
    }
};

// a - b' c, a - b c and such of blocks, as they are needed below.
void less_product(Block& from, const Block& a, const Block& b) {
    from.xx -= a.xx * b.xx + a.xy * b.yx;
    from.xy -= a.xx * b.xy + a.xy * b.yy;
    from.yx -= a.yx * b.xx + a.yy * b.yx;
    from.yy -= a.yx * b.xy + a.yy * b.yy;
}

Block turned_times(const Block& a, const Block& b) {  // a' b
    return {a.xx * b.xx + a.yx * b.yx, a.xx * b.xy + a.yx * b.yy, a.xy * b.xx + a.yy * b.yx, a.xy * b.xy + a.yy * b.yy};
}

Block inverse(const Block& a) {  // of a symmetric one that is positive
    const double first = std::max(a.xx, LEAST_PIVOT), share = a.xy / first;
    const double second = std::max(a.yy - share * a.xy, LEAST_PIVOT);
    return {1 / first + share * share / second, -share / second, -share / second, 1 / second};
}

// The factors L D L' of a matrix.
class Factors {
  public:
    explicit Factors(const Matrix& matrix) : matrix_(matrix), size_(matrix.points()) {}

    void make() {
        count();
        eliminate();
    }

    Floats solved(const Floats& right) const {
        struct Pair {
            double x, y;
        };
        std::vector<Pair> x(size_);
        for (std::int32_t i = 0; i < size_; ++i) x[matrix_.place(i)] = {right[i], right[i + size_]};
        for (std::int32_t k = 0; k < size_; ++k)
            for (auto at = start_[k]; at < start_[k] + count_[k]; ++at) {
                auto& to = x[row_[at]];
                to.x -= low_[at].xx * x[k].x + low_[at].xy * x[k].y;
                to.y -= low_[at].yx * x[k].x + low_[at].yy * x[k].y;
            }
        for (std::int32_t k = size_ - 1; k >= 0; --k) {
            const auto& by = inverse_[k];
            Pair sum{by.xx * x[k].x + by.xy * x[k].y, by.yx * x[k].x + by.yy * x[k].y};
            for (auto at = start_[k]; at < start_[k] + count_[k]; ++at) {
                const auto& from = x[row_[at]];
                sum.x -= low_[at].xx * from.x + low_[at].yx * from.y;
                sum.y -= low_[at].xy * from.x + low_[at].yy * from.y;
            }
            x[k] = sum;
        }
        Floats found(2 * static_cast<std::size_t>(size_));
        for (std::int32_t i = 0; i < size_; ++i) {
            found[i] = x[matrix_.place(i)].x;
            found[i + size_] = x[matrix_.place(i)].y;
        }
        return found;
    }

  private:
    const Matrix& matrix_;
    std::int32_t size_;
    Ints parent_, count_, row_;
    std::vector<std::size_t> start_;
    std::vector<Block> low_, inverse_;

    // The elimination tree, and how many blocks each column of L has.
    void count() {
        parent_.assign(size_, -1);
        count_.assign(size_, 0);
        Ints mark(size_, -1);
        for (std::int32_t k = 0; k < size_; ++k) {
            mark[k] = k;
            matrix_.column(k, [&](std::int32_t i, const Block&) {
                for (; mark[i] != k; i = parent_[i]) {
                    if (parent_[i] < 0) parent_[i] = k;
                    ++count_[i];
                    mark[i] = k;
                }
            });
        }
        start_.assign(1, 0);
        for (auto each : count_) start_.push_back(start_.back() + each);
        row_.resize(start_.back());
        low_.resize(start_.back());
    }

    void eliminate() {
        inverse_.assign(size_, {});
        std::fill(count_.begin(), count_.end(), 0);
        std::vector<Block> line(size_);
        Ints mark(size_, -1), pattern(size_), way(size_);
        for (std::int32_t k = 0; k < size_; ++k) {
            auto top = size_;
            mark[k] = k;
            matrix_.column(k, [&](std::int32_t i, const Block& block) {
                line[i] = block;
                std::int32_t length = 0;
                for (; mark[i] != k; i = parent_[i]) {
                    way[length++] = i;
                    mark[i] = k;
                }
                while (length > 0) pattern[--top] = way[--length];
            });
            Block pivot = line[k];
            line[k] = {};
            for (; top < size_; ++top) {
                const auto i = pattern[top];
                const Block value = line[i];
                line[i] = {};
                const auto end = start_[i] + count_[i];
                for (auto at = start_[i]; at < end; ++at) less_product(line[row_[at]], low_[at], value);
                row_[end] = k;
                low_[end] = turned_times(value, inverse_[i]);
                ++count_[i];
                less_product(pivot, low_[end], value);
            }
            inverse_[k] = inverse(pivot);
        }
    }
};

Floats times(const Rows& rows, const Floats& x) {
    Floats found(rows.count, 0.0);
    for (std::int32_t row = 0; row < rows.count; ++row)
        for (auto at = rows.start[row]; at < rows.start[row + 1]; ++at)
            found[row] += rows.value[at] * x[rows.column[at]];
    return found;
}

double dot(const Floats& a, const Floats& b) { return std::inner_product(a.begin(), a.end(), b.begin(), 0.0); }

// How much of a way to go: as far as what is lacking, the curves' resistance and what is gone too far together grow less.
double part_of(const Problem& problem, const Floats& made, const Floats& gain, const Floats& found, const Floats& way,
               double against, double bent) {
    const auto points = problem.unknowns / 2;
    const auto slope = [&](double part) {
        double sum = against + part * bent;
        for (std::int32_t row = 0; row < problem.rows.count; ++row) {
            const double missed = problem.lack[row] - made[row] - part * gain[row];
            if (missed > 0.0) sum -= problem.weight[row] * missed * gain[row];
        }
        for (std::int32_t i = 0; i < points; ++i) {
            const double x = found[i] + part * way[i], y = found[i + points] + part * way[i + points];
            const double far = std::hypot(x, y);
            if (far > problem.most)
                sum += problem.held * (1 - problem.most / far) * (x * way[i] + y * way[i + points]);
        }
        return sum;
    };
    if (slope(1.0) <= -ROUNDING * against) return 1.0;
    double low = 0.0, high = 1.0;
    for (int halving = 0; halving < problem.halvings; ++halving) {
        const double middle = (low + high) / 2;
        (slope(middle) < 0.0 ? low : high) = middle;
    }
    return high;  // where what begins to press is known to the next round
}

// Of each point that has gone too far the second derivative of what that costs; `right` gets what goes with it.
std::vector<Block> held_back(const Problem& problem, const Floats& found, Floats& right) {
    const auto points = problem.unknowns / 2;
    std::vector<Block> blocks(points);
    for (std::int32_t i = 0; i < points; ++i) {
        const double far = std::hypot(found[i], found[i + points]);
        if (far <= problem.most) continue;
        const double x = found[i] / far, y = found[i + points] / far, share = problem.most / far;
        blocks[i] = {problem.held * (1 - share * y * y), problem.held * share * x * y, problem.held * share * x * y,
                     problem.held * (1 - share * x * x)};
        right[i] += problem.held * problem.most * x;
        right[i + points] += problem.held * problem.most * y;
    }
    return blocks;
}

Floats pressed(const Problem& problem) {
    Asked asked = by_point(problem.rows, problem.unknowns / 2);
    Matrix matrix(problem, asked);
    Factors factors(matrix);
    const auto count = problem.rows.count;
    Floats found(problem.unknowns, 0.0), made(count, 0.0);
    std::vector<char> pressing(count, 0);
    for (int round = 0; round < problem.rounds; ++round) {
        // A requirement that has room to spare must not pull: only those still short count in this round.
        Floats right(problem.pull, problem.pull + problem.unknowns);
        for (std::int32_t row = 0; row < count; ++row) {
            const bool presses = problem.lack[row] > made[row];
            if (presses != static_cast<bool>(pressing[row])) matrix.turn(row, presses);
            pressing[row] = presses;
            if (!presses) continue;
            const double by = problem.weight[row] * problem.lack[row];
            for (auto at = problem.rows.start[row]; at < problem.rows.start[row + 1]; ++at)
                right[problem.rows.column[at]] += by * problem.rows.value[at];
        }
        matrix.hold(held_back(problem, found, right));
        factors.make();
        Floats way = factors.solved(right);
        for (std::int32_t i = 0; i < problem.unknowns; ++i) way[i] -= found[i];
        const Floats gain = times(problem.rows, way), bent = times(problem.resistance, way);
        Floats slope = times(problem.resistance, found);
        for (std::int32_t i = 0; i < problem.unknowns; ++i) slope[i] -= problem.pull[i];
        // Not all the way: on it others may begin to press, which this round did not know of.
        const double part = part_of(problem, made, gain, found, way, dot(way, slope), dot(way, bent));
        double farthest = 0.0;
        for (std::int32_t i = 0; i < problem.unknowns; ++i) {
            found[i] += part * way[i];
            farthest = std::max(farthest, part * std::abs(way[i]));
        }
        for (std::int32_t row = 0; row < count; ++row) made[row] += part * gain[row];
        if (farthest < problem.clear) break;
    }
    return found;
}

// ── Python ───────────────────────────────────────────────────────────────────────────────────────────────

class Buffer {
  public:
    ~Buffer() {
        if (held_) PyBuffer_Release(&view_);
    }
    template <typename Value>
    const Value* of(PyObject* object) {
        held_ = PyObject_GetBuffer(object, &view_, PyBUF_SIMPLE) == 0;
        return held_ ? static_cast<const Value*>(view_.buf) : nullptr;
    }
    template <typename Value>
    Py_ssize_t count() const {
        return view_.len / static_cast<Py_ssize_t>(sizeof(Value));
    }

  private:
    Py_buffer view_{};
    bool held_ = false;
};

// Compressed rows whose columns are below `columns` (checked: an index out of range must not crash the service).
class Compressed {
  public:
    bool read(PyObject* starts, PyObject* columns, PyObject* values) {
        rows.start = start_.of<std::int32_t>(starts);
        rows.column = rows.start ? column_.of<std::int32_t>(columns) : nullptr;
        rows.value = rows.column ? value_.of<double>(values) : nullptr;
        if (!rows.value) return false;
        rows.count = static_cast<std::int32_t>(start_.count<std::int32_t>()) - 1;
        return true;
    }
    bool fits(std::int32_t unknowns) const {
        const auto entries = column_.count<std::int32_t>();
        if (rows.count < 0 || rows.start[0] != 0 || rows.start[rows.count] != entries) return false;
        if (value_.count<double>() != entries) return false;
        for (std::int32_t row = 0; row < rows.count; ++row)
            if (rows.start[row] > rows.start[row + 1]) return false;
        return std::all_of(rows.column, rows.column + entries,
                           [&](std::int32_t column) { return column >= 0 && column < unknowns; });
    }
    Rows rows{};

  private:
    Buffer start_, column_, value_;
};

PyObject* press(PyObject*, PyObject* arguments) {
    PyObject *own[3], *asked[3], *lack, *weight, *pull;
    Problem problem{};
    if (!PyArg_ParseTuple(arguments, "(OOO)(OOO)OOOddidi", &own[0], &own[1], &own[2], &asked[0], &asked[1], &asked[2],
                          &lack, &weight, &pull, &problem.most, &problem.held, &problem.rounds, &problem.clear,
                          &problem.halvings))
        return nullptr;
    Compressed resistance, rows;
    Buffer lacks, weights, pulls;
    if (!resistance.read(own[0], own[1], own[2]) || !rows.read(asked[0], asked[1], asked[2])) return nullptr;
    problem.resistance = resistance.rows;
    problem.rows = rows.rows;
    problem.lack = lacks.of<double>(lack);
    problem.weight = problem.lack ? weights.of<double>(weight) : nullptr;
    problem.pull = problem.weight ? pulls.of<double>(pull) : nullptr;
    if (!problem.pull) return nullptr;
    problem.unknowns = problem.resistance.count;
    if (problem.unknowns % 2 != 0 || !resistance.fits(problem.unknowns) || !rows.fits(problem.unknowns) ||
        lacks.count<double>() != problem.rows.count || weights.count<double>() != problem.rows.count ||
        pulls.count<double>() != problem.unknowns) {
        PyErr_SetString(PyExc_ValueError, "the arrays do not fit each other");
        return nullptr;
    }
    Floats found;
    std::string failure;
    Py_BEGIN_ALLOW_THREADS
    try {
        found = pressed(problem);
    } catch (const std::exception& error) {
        failure = error.what();
    }
    Py_END_ALLOW_THREADS
    if (!failure.empty()) {
        PyErr_Format(PyExc_RuntimeError, "the shifts could not be found: %s", failure.c_str());
        return nullptr;
    }
    return PyBytes_FromStringAndSize(reinterpret_cast<const char*>(found.data()),
                                     static_cast<Py_ssize_t>(found.size() * sizeof(double)));
}

PyMethodDef methods[] = {
    {"press", press, METH_VARARGS, "The least shifts that meet what is asked, float64 as bytes."},
    {nullptr, nullptr, 0, nullptr},
};

PyModuleDef module = {
    PyModuleDef_HEAD_INIT, "_pressing", "Shifts of curves under requirements that press.", -1, methods,
    nullptr, nullptr, nullptr, nullptr,
};

}  // namespace

PyMODINIT_FUNC PyInit__pressing(void) { return PyModule_Create(&module); }
