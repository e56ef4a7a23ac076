"""What is drawn and printed: figures, reports, handouts, sheets; no streamlit."""
