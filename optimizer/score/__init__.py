"""What is played: MusicXML in, notes with exact onsets, tempo and playing order out."""
