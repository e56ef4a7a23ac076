"""What `streamlit run` serves: the pages of `app.py` behind the gate."""

from starlette.middleware import Middleware
from streamlit.starlette import App

from dashboard.gate import Gate

app = App("app.py", middleware=[Middleware(Gate)])
