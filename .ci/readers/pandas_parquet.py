"""Stands in for pandas' Parquet engine where none is packaged: reads through DuckDB's C library.

Only for the tests of the notebook, which itself calls plain pandas.read_parquet. LIBDUCKDB is the path of the library.
"""
import ctypes as C
import os

import numpy as np
import pandas as pd


class _Result(C.Structure):
    _fields_ = [("a", C.c_uint64), ("b", C.c_uint64), ("c", C.c_uint64), ("cols", C.c_void_p), ("err", C.c_char_p), ("internal", C.c_void_p)]


_lib = None


def _load():
    global _lib
    if _lib is None:
        _lib = C.CDLL(os.environ["LIBDUCKDB"])
        _lib.duckdb_library_version.restype = C.c_char_p
        _lib.duckdb_column_name.restype = C.c_char_p
        _lib.duckdb_column_name.argtypes = [C.POINTER(_Result), C.c_uint64]
        _lib.duckdb_column_count.restype = C.c_uint64
        _lib.duckdb_column_type.argtypes = [C.POINTER(_Result), C.c_uint64]
        _lib.duckdb_result_error.restype = C.c_char_p
        _lib.duckdb_fetch_chunk.restype = C.c_void_p
        _lib.duckdb_fetch_chunk.argtypes = [_Result]
        _lib.duckdb_data_chunk_get_size.restype = C.c_uint64
        _lib.duckdb_data_chunk_get_size.argtypes = [C.c_void_p]
        _lib.duckdb_data_chunk_get_vector.restype = C.c_void_p
        _lib.duckdb_data_chunk_get_vector.argtypes = [C.c_void_p, C.c_uint64]
        _lib.duckdb_vector_get_data.restype = C.c_void_p
        _lib.duckdb_vector_get_data.argtypes = [C.c_void_p]
        _lib.duckdb_vector_get_validity.restype = C.c_void_p
        _lib.duckdb_vector_get_validity.argtypes = [C.c_void_p]
        _lib.duckdb_destroy_data_chunk.argtypes = [C.POINTER(C.c_void_p)]
        _lib.duckdb_destroy_result.argtypes = [C.POINTER(_Result)]
        _lib.duckdb_list_vector_get_child.restype = C.c_void_p
        _lib.duckdb_list_vector_get_child.argtypes = [C.c_void_p]
        _lib.duckdb_list_vector_get_size.restype = C.c_uint64
        _lib.duckdb_list_vector_get_size.argtypes = [C.c_void_p]
        _lib.duckdb_vector_get_column_type.restype = C.c_void_p
        _lib.duckdb_vector_get_column_type.argtypes = [C.c_void_p]
        _lib.duckdb_get_type_id.argtypes = [C.c_void_p]
    return _lib


# duckdb_type -> numpy dtype
_NP = {1: "?", 2: "i1", 3: "i2", 4: "i4", 5: "i8", 6: "u1", 7: "u2", 8: "u4", 9: "u8", 10: "f4", 11: "f8",
       12: "M8[us]", 20: "M8[s]", 21: "M8[ms]", 22: "M8[ns]", 31: "M8[us]"}


def _strings(ptr, n, valid, as_bytes):
    raw = np.ctypeslib.as_array((C.c_uint8 * (16 * n)).from_address(ptr)).reshape(n, 16)
    out = np.empty(n, dtype=object)
    for i in range(n):
        if not valid[i]:
            out[i] = None
            continue
        ln = int.from_bytes(raw[i, :4].tobytes(), "little")
        b = raw[i, 4:4 + ln].tobytes() if ln <= 12 else C.string_at(int.from_bytes(raw[i, 8:16].tobytes(), "little"), ln)
        out[i] = b if as_bytes else b.decode()
    return out


def _vector(lib, vec, n):
    t = C.c_void_p(lib.duckdb_vector_get_column_type(vec))
    tid = lib.duckdb_get_type_id(t)
    lib.duckdb_destroy_logical_type(C.byref(t))
    vm = lib.duckdb_vector_get_validity(vec)
    if vm and n:
        bits = np.ctypeslib.as_array((C.c_uint64 * ((n + 63) // 64)).from_address(vm))
        valid = np.unpackbits(bits.view(np.uint8), bitorder="little")[:n].astype(bool)
    else:
        valid = np.ones(n, bool)
    if n == 0:
        return np.empty(0, dtype=_NP.get(tid, object))
    ptr = lib.duckdb_vector_get_data(vec)
    if tid in (17, 18):  # VARCHAR, BLOB
        return _strings(ptr, n, valid, tid == 18)
    if tid == 24:  # LIST
        ent = np.ctypeslib.as_array((C.c_uint64 * (2 * n)).from_address(ptr)).reshape(n, 2)
        child = _vector(lib, lib.duckdb_list_vector_get_child(vec), lib.duckdb_list_vector_get_size(vec))
        out = np.empty(n, dtype=object)
        for i in range(n):
            out[i] = child[int(ent[i, 0]):int(ent[i, 0] + ent[i, 1])].copy() if valid[i] else None
        return out
    if tid not in _NP:
        raise TypeError(f"DuckDB type id {tid} is not handled here: cast it in the query")
    dt = np.dtype(_NP[tid])
    a = np.frombuffer((C.c_char * (dt.itemsize * n)).from_address(ptr), dtype=dt).copy()
    if valid.all():
        return a
    if dt.kind == "f":
        a[~valid] = np.nan
        return a
    if dt.kind == "M":
        a[~valid] = np.datetime64("NaT")
        return a
    o = a.astype(object)
    o[~valid] = None
    return o


def sql(query):
    """Run one query; return a DataFrame."""
    lib = _load()
    db, con, res = C.c_void_p(), C.c_void_p(), _Result()
    if lib.duckdb_open(None, C.byref(db)) or lib.duckdb_connect(db, C.byref(con)):
        raise RuntimeError("duckdb_open failed")
    try:
        if lib.duckdb_query(con, query.encode(), C.byref(res)):
            raise RuntimeError(lib.duckdb_result_error(C.byref(res)).decode())
        k = lib.duckdb_column_count(C.byref(res))
        names = [lib.duckdb_column_name(C.byref(res), i).decode() for i in range(k)]
        parts = [[] for _ in names]
        while True:
            ch = C.c_void_p(lib.duckdb_fetch_chunk(res))
            if not ch.value:
                break
            n = lib.duckdb_data_chunk_get_size(ch)
            for i in range(k):
                parts[i].append(_vector(lib, lib.duckdb_data_chunk_get_vector(ch, i), n))
            lib.duckdb_destroy_data_chunk(C.byref(ch))
        return pd.DataFrame({nm: (np.concatenate(p) if p else []) for nm, p in zip(names, parts)}, columns=names)
    finally:
        lib.duckdb_destroy_result(C.byref(res))
        lib.duckdb_disconnect(C.byref(con))
        lib.duckdb_close(C.byref(db))


def _lit(p):
    return "'" + str(p).replace("'", "''") + "'"


def read_parquet(path, engine="auto", columns=None, **kw):
    p = str(path)
    if os.path.isdir(p):
        p = os.path.join(p, "**", "*.parquet")
    cols = ", ".join('"' + c.replace('"', '""') + '"' for c in columns) if columns else "*"
    return sql(f"SELECT {cols} FROM read_parquet({_lit(p)}, union_by_name=true)")


def install():
    pd.read_parquet = read_parquet
