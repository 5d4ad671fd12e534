"""The screen: shows what the core says and hands it what a person types."""
