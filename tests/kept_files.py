"""What a comparison leaves in its folder."""

COMPARISON = (
    *("rows.csv", "rows.parquet", "datapackage.json", "summary.csv", "differences.csv"),
    *("report.html", "manifest.json"),
)
