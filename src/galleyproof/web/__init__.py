"""The app: pages, the work behind them, and who may see what."""
