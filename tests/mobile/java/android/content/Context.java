package android.content;

import java.io.File;

public class Context {
    public static File files;

    public File getFilesDir() {
        return files;
    }

    public String getPackageName() {
        return "example.fernhollow.voltwalk";
    }
}
