// Boost.Polygon's Voronoi diagram of segments, read out as arrays.
//
// One function: diagram(segments) -> (vertices, halves, cells), bytes in, bytes out.
//   segments  n rows of four int32: x, y of both ends; no two segments share more than ends
//   vertices  rows of two float64: x, y
//   halves    rows of two int32: start vertex (-1 at infinity) and cell; 2i and 2i + 1 are twins
//   cells     rows of two int32: the segment and Boost's source category
//
// Python's stable ABI from 3.11 on, so that one build serves every version the project runs on.

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000
#include <Python.h>

#include <boost/polygon/voronoi_builder.hpp>
#include <boost/polygon/voronoi_diagram.hpp>

#include <cstdint>
#include <exception>
#include <string>

namespace {

using Diagram = boost::polygon::voronoi_diagram<double>;
using Builder = boost::polygon::default_voronoi_builder;

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
