"""Writes test/fixtures/parquet/*.parquet and the values in them, test/reference/parquet.json.

An independent writer for the Parquet reader: pyarrow 25.0.1 (Apache Arrow's C++ implementation).
    pip install pyarrow==25.0.1 && python test/reference/parquet-pyarrow.py
"""
import base64
import datetime as dt
import decimal
import json
import pathlib
import pyarrow as pa
import pyarrow.parquet as pq
import pyarrow.parquet.encryption as pe

HERE = pathlib.Path(__file__).resolve().parent
OUT = HERE.parent / "fixtures" / "parquet"
ROWS = 60
START_NS = 1_718_446_500_000_000_001  # 2024-06-15 10:15:00 UTC and a nanosecond


def sparse(values, step):
    return [None if i % step == 2 else v for i, v in enumerate(values)]


i = range(ROWS)
ns = [START_NS + k * 100_000_000 + k % 3 for k in i]
COLUMNS = {
    "stamp": pa.array(ns, pa.timestamp("ns", tz="UTC")),
    "stamp us": pa.array([n // 1000 for n in ns], pa.timestamp("us")),
    "stamp ms": pa.array(sparse([n // 1_000_000 for n in ns], 7), pa.timestamp("ms")),
    "date": pa.array([dt.date(2024, 6, 15)] * ROWS, pa.date32()),
    "clock ms": pa.array([36_900_000 + 100 * k for k in i], pa.time32("ms")),
    "clock us": pa.array([36_900_000_000 + 100_000 * k for k in i], pa.time64("us")),
    "Time [s]": pa.array([k / 10 for k in i], pa.float64()),
    "Speed (km/h)": pa.array(sparse([60.25 + k / 4 for k in i], 11), pa.float32()),
    "coolant [°C]": pa.array(sparse([88 + k // 20 for k in i], 5), pa.int16()),
    "gear": pa.array([3 + k // 40 for k in i], pa.int8()),
    "load": pa.array([4_000_000_000 + k for k in i], pa.uint32()),
    "brake": pa.array(sparse([k > 50 for k in i], 9), pa.bool_()),
    "note": pa.array(sparse([["dry", "damp", "wet °"][k % 3] for k in i], 6), pa.string()),
    "counter": pa.array([(1 << 60) + 7 * k for k in i], pa.int64()),
    "ticks": pa.array([(1 << 63) + 9 * k for k in i], pa.uint64()),
    "small": pa.array([k * k - 900 for k in i], pa.int64()),
    "price": pa.array(sparse([decimal.Decimal(k * 37 - 500) / 100 for k in i], 8), pa.decimal128(9, 2)),
    "half": pa.array([k / 8 for k in i], pa.float16()),
    "frame": pa.array([bytes([k, 0, 255]) for k in i], pa.binary()),
    "list": pa.array([[k, k + 1] for k in i], pa.list_(pa.int32())),
    "pair": pa.array([{"a": k, "b": 1.5} for k in i], pa.struct([("a", pa.int32()), ("b", pa.float64())])),
}
TABLE = pa.table(COLUMNS)
FLAT = [name for name in COLUMNS if name not in ("list", "pair", "frame")]
DELTA = {name: "DELTA_BINARY_PACKED" for name in ("stamp", "stamp us", "stamp ms", "clock ms", "clock us", "coolant [°C]", "gear", "counter", "ticks", "small", "load")}
SPLIT = {name: "BYTE_STREAM_SPLIT" for name in ("Time [s]", "Speed (km/h)", "stamp", "gear", "half")}

FILES = {
    "snappy-v1": dict(compression="snappy", data_page_version="1.0", row_group_size=25),
    "gzip-v2": dict(compression="gzip", data_page_version="2.0", row_group_size=60),
    "zstd-delta": dict(compression="zstd", data_page_version="2.0", use_dictionary=False,
                       column_encoding={**DELTA, "note": "DELTA_BYTE_ARRAY"}, row_group_size=40),
    "lz4-split": dict(compression="lz4", use_dictionary=False, column_encoding={**SPLIT, "note": "DELTA_LENGTH_BYTE_ARRAY"}),
    "brotli-pages": dict(compression="brotli", data_page_size=64, write_batch_size=8, use_dictionary=False),
    "plain-int96": dict(compression="none", use_deprecated_int96_timestamps=True, version="1.0"),
    "dictionary-pages": dict(compression="zstd", data_page_size=16, write_batch_size=4, dictionary_pagesize_limit=1 << 20),
}


class Kms(pe.KmsClient):
    """Keys that are not secret."""

    def __init__(self, config):
        pe.KmsClient.__init__(self)

    def wrap_key(self, key, master):
        return base64.b64encode(key)

    def unwrap_key(self, key, master):
        return base64.b64decode(key)


def expected(name):
    column = TABLE[name].combine_chunks()
    if pa.types.is_timestamp(column.type) or pa.types.is_time(column.type):
        bits = pa.int32() if pa.types.is_time32(column.type) else pa.int64()
        return [None if v is None else str(v) for v in column.cast(bits).to_pylist()]
    values = column.to_pylist()
    return [str(v) if isinstance(v, (decimal.Decimal, dt.date)) or (isinstance(v, int) and not isinstance(v, bool)) else v for v in values]


OUT.mkdir(exist_ok=True)
for file, options in FILES.items():
    pq.write_table(TABLE, OUT / f"{file}.parquet", **options)
crypto = pe.CryptoFactory(Kms)
for file, plain in (("encrypted", False), ("encrypted-column", True)):
    config = pe.EncryptionConfiguration(footer_key="f", column_keys={"c": ["note"]}, plaintext_footer=plain)
    keys = crypto.file_encryption_properties(pe.KmsConnectionConfig(), config)
    small = TABLE.select(["Time [s]", "note"]).slice(0, 10)
    with pq.ParquetWriter(OUT / f"{file}.parquet", small.schema, encryption_properties=keys) as writer:
        writer.write_table(small)
document = {
    "about": "Table written by parquet-pyarrow.py (pyarrow 25.0.1): whole numbers, times (in their own ticks), decimals and dates as text, so that all digits stay.",
    "datasets": {"pyarrow": {"files": list(FILES), "columns": {name: {"type": str(TABLE[name].type), "values": expected(name)} for name in FLAT}}},
    "rows": [],
}
lines = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
(HERE / "parquet.json").write_text(lines.replace('"columns":{', '"columns":{\n').replace(']},"', ']},\n"') + "\n", encoding="utf-8")
