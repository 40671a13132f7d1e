"""How the delta on Whisper base for the loud shop was made, and how to make it again.

Torch is needed here and nowhere else: `pip install torch soundfile numpy soxr` into an environment of its own.
In this order, each with its own help:

    python -m assistant.evaluate.training.texts OUT.json      what is said: words, numbers, commands (from a seed)
    python -m assistant.evaluate.training.corpus OUT          the texts in synthetic voices, as a corpus
    python -m assistant.evaluate.training.pack CORPUS... OUT  corpora as one file of sound, free licences only
    python -m assistant.evaluate.training.train ...           the training, minutes on one GPU
    python -m assistant.evaluate.training.keep ...            the delta as it is kept, with its account
"""
