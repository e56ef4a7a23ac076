"""What `streamlit run` serves: the pages of `app.py` behind the gate."""

from starlette.middleware import Middleware
from streamlit.starlette import App

from dashboard.gate import Gate
from dashboard.jobs.ready import READY

READY.begin()
app = App("app.py", middleware=[Middleware(Gate)])
