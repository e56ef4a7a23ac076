"""How does this house stand today, what is to be done by when, and how good were earlier forecasts?"""
