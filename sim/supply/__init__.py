"""Where the water comes from: rain, roof and cistern."""
