"""The pages and the calls behind them, over HTTP."""
